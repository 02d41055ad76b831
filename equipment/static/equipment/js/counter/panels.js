// What is asked below the answer: which fault it is, and why something goes out all the same.

import { element } from './view.js';

// `on.digit(digit)` for a fault touched, `on.why(text)` for a why written down.
export function createPanels(root, on) {
  const slot = (name) => root.querySelector(`[data-slot="${name}"]`);
  const faults = slot('faults');
  const form = slot('let-go');

  function choice({ digit, text }) {
    const button = element('button', '');
    button.type = 'button';
    button.className = 'key';
    button.dataset.digit = digit;
    button.append(element('kbd', digit), ' ', element('span', text));
    return button;
  }

  function noWhy() {
    if (form.hidden) return;
    form.hidden = true;
    form.elements.why.value = '';
    if (form.contains(document.activeElement)) document.activeElement.blur();
  }

  faults.addEventListener('click', (event) => {
    const button = event.target.closest('[data-digit]');
    if (button) on.digit(button.dataset.digit);
  });
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    on.why(form.elements.why.value);
  });
  form.addEventListener('reset', noWhy);

  return {
    // No lines: nothing is asked.
    faults(title, lines) {
      slot('faults-of').textContent = title;
      slot('faults-list').replaceChildren(...lines.map(choice));
      faults.hidden = lines.length === 0;
    },
    why(title) {
      slot('let-go-what').textContent = title;
      form.hidden = false;
      form.elements.why.focus();
    },
    noWhy,
  };
}
