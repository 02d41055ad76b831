// The bench: a scan counts wherever the focus is. It fills the scan field and sends its form, as a hand would.
// What was filled in elsewhere and not written down is not lost by a stray scan: the same code must come twice.
//   data-all-good   the code of the tag that its key (data-all-good-key) stands for
//   data-opening, data-unsaved   what the status line says

import { parse } from './codes.js';
import { listen } from './counter/keys.js';

const isCode = (text) => parse(text).ok || parse(text).why === 'wrong_check';

export function mount(form) {
  const field = form.elements.code;
  const status = form.querySelector('[data-slot="status"]');
  let warned = '';

  function send(text) {
    if (filled(form) && text !== warned) {
      warned = text;
      status.textContent = form.dataset.unsaved;
      return;
    }
    field.value = text;
    status.textContent = form.dataset.opening.replace('{code}', text.trim());
    form.requestSubmit();
  }

  listen(document, {
    keys: { [form.dataset.allGoodKey]: form.dataset.allGood },
    isCode,
    find: field,
    on: { scan: send, key: send, digit: () => false },
  });
  openWhatIsAsked();
  form.dataset.ready = 'true';
}

// Whether anything stands in a form that writes in the book which did not stand there to begin with.
// (A form's own `method` is hidden by a field of that name.)
function filled(scanForm) {
  const writing = [...document.forms].filter((form) => form !== scanForm && form.getAttribute('method') === 'post');
  return writing.some((form) => [...form.elements].some(isChanged));
}

function isChanged(field) {
  if (field.type === 'checkbox' || field.type === 'radio') return field.checked !== field.defaultChecked;
  if (field.tagName === 'SELECT') return chosen(field) !== chosenAtFirst(field);
  return ['INPUT', 'TEXTAREA'].includes(field.tagName) && field.type !== 'hidden' && field.value !== field.defaultValue;
}

const chosen = (select) => select.selectedIndex;
const chosenAtFirst = (select) => Math.max(0, [...select.options].findIndex((option) => option.defaultSelected));

// The form that stands open is where the hands go next.
function openWhatIsAsked() {
  const piece = document.getElementById('piece');
  if (!piece) return;
  const first = piece.querySelector('details[open] :is(input:not([type="hidden"]), textarea, select)');
  (first ?? piece).focus({ preventScroll: first === null });
}
