// Makes elements: no page of its own, no words, no markup from text.

const SVG = 'http://www.w3.org/2000/svg';
let icons = '';
const drawnOnce = new Map();

// Where icons.svg lies; the page says so once.
export function drawFrom(url) {
  icons = url;
}

/**
 * h('button', {class: 'button', onclick: fn, 'aria-pressed': 'true'}, 'Words', child, null)
 * Attributes that are null, undefined or false are left out, true ones stand empty; `on…` listens; `key` marks what the
 * focus goes back to when the screen is drawn anew. Children may be elements, text, null, or lists of these.
 */
export function h(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [word, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    if (word.startsWith('on')) made.addEventListener(word.slice(2), value);
    else if (word === 'key') made.dataset.key = value;
    else made.setAttribute(word, value === true ? '' : value);
  }
  if (name === 'button' && !made.hasAttribute('type')) made.type = 'button';
  made.append(...children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false && child !== ''));
  return made;
}

// Each is made once and copied from then on: a crew's list has hundreds.
export function icon(name) {
  if (!drawnOnce.has(name)) drawnOnce.set(name, newIcon(name));
  return drawnOnce.get(name).cloneNode(true);
}

function newIcon(name) {
  const drawn = document.createElementNS(SVG, 'svg');
  drawn.setAttribute('class', 'icon');
  drawn.setAttribute('aria-hidden', 'true');
  drawn.setAttribute('focusable', 'false');
  const use = document.createElementNS(SVG, 'use');
  use.setAttribute('href', `${icons}#${name}`);
  drawn.append(use);
  return drawn;
}

// A code on its label.
export const tag = (code) => h('span', { class: 'tag' }, code);

// A mark is never a colour alone: icon, then words.
export const mark = (kind, name, text) => h('span', { class: `mark mark-${kind}` }, icon(name), ' ', text);

// A big button. `main` is the one the screen is for.
export function button(text, onclick, { main = false, wants = false, name = null, more = '', pressed = null, key = text } = {}) {
  const kind = main ? ' button-main' : wants ? ' button-wants' : '';
  return h(
    'button',
    { class: `button${kind}`, onclick, key, 'aria-pressed': pressed === null ? null : String(pressed) },
    name && icon(name),
    h('span', { class: 'button-say' }, text, more && h('small', {}, more)),
  );
}

// What can hurt: icon, then the sentences. Nothing where there are none.
export function cautions(sentences, label) {
  if (sentences.length === 0) return null;
  return h('div', { class: 'notice notice-wants', role: 'note', 'aria-label': label }, icon('partial'), h('ul', {}, sentences.map((text) => h('li', {}, text))));
}

let numbered = 0;

// A field under its label. `attributes` are the input's own.
export function field(label, attributes, help = '') {
  const id = `field-${(numbered += 1)}`;
  const input = h(attributes.rows ? 'textarea' : 'input', { id, autocomplete: 'off', 'aria-describedby': help ? `${id}-help` : null, ...attributes });
  const box = h('p', { class: 'field' }, h('label', { for: id }, label), help && h('span', { class: 'help', id: `${id}-help` }, help), input);
  return { box, input };
}

// Choices of which one is taken: a radio group whose labels are as tall as buttons.
export function choices(legend, name, options, chosen, help = '') {
  const group = h(
    'fieldset',
    { class: 'picks' },
    h('legend', {}, legend),
    help && h('span', { class: 'help' }, help),
    options.map(({ value, text }) => h('label', { class: 'pick' }, h('input', { type: 'radio', name, value, checked: value === chosen }), h('span', {}, text))),
  );
  return { box: group, value: () => group.querySelector('input:checked')?.value ?? null };
}
