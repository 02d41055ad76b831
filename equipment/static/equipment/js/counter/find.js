// The find field: names while one types, chosen with the arrows and Enter (or a touch). A code typed there is a scan,
// see keys.js.

import { element } from './view.js';

// `on.picked(picker)`, `on.someoneNew(name)`.
export function createFind({ field, list, status, sheet, isCode, words, fill, on }) {
  let found = [];
  let marked = -1;

  function search() {
    const text = field.value.trim();
    found = text === '' || isCode(text) ? [] : [...sheet.find(text), null];
    list.replaceChildren(...found.map(option));
    list.hidden = found.length === 0;
    field.setAttribute('aria-expanded', String(found.length > 0));
    const count = Math.max(0, found.length - 1);
    status.textContent = text === '' ? '' : count === 0 ? words.found_none : fill(words.found_some, { count });
    mark(found.length > 1 ? 0 : -1);
  }

  function option(one, place) {
    const text = one ? `${one.name} · ${one.number} · ${sheet.crewName(one.crew)}` : fill(words.new_picker, { name: field.value.trim() });
    const made = element('li', text);
    Object.assign(made, { id: `${list.id}-${place}` });
    made.setAttribute('role', 'option');
    made.addEventListener('pointerdown', (event) => event.preventDefault());
    made.addEventListener('click', () => choose(place));
    return made;
  }

  function mark(place) {
    marked = place;
    for (const [at, one] of Array.from(list.children).entries()) one.setAttribute('aria-selected', String(at === place));
    if (place < 0) field.removeAttribute('aria-activedescendant');
    else field.setAttribute('aria-activedescendant', `${list.id}-${place}`);
    list.children[place]?.scrollIntoView({ block: 'nearest' });
  }

  function choose(place) {
    const one = found[place];
    const text = field.value.trim();
    clear();
    if (one) on.picked(one);
    else on.someoneNew(text);
  }

  function clear() {
    field.value = '';
    search();
    field.blur();
  }

  const KEYS = {
    ArrowDown: () => found.length > 0 && mark((marked + 1) % found.length),
    ArrowUp: () => found.length > 0 && mark((marked - 1 + found.length) % found.length),
    Escape: clear,
    Enter: () => marked >= 0 && choose(marked),
  };

  field.addEventListener('input', search);
  field.addEventListener('keydown', (event) => {
    if (!KEYS[event.key]) return;
    event.preventDefault();
    KEYS[event.key]();
  });
}
