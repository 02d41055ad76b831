// The wash place as it shows: the answer, the ways to choose from, the groups with their timers.

import { fill } from '../counter/answers.js';
import { element } from '../counter/view.js';
import { play } from '../sounds.js';
import { left } from './groups.js';

const SOUND_OF = { yes: 'yes', no: 'no', partial: 'partial' };
const slot = (root, name) => root.querySelector(`[data-slot="${name}"]`);

// Milliseconds as 9:59; what is left is rounded up, so that 0:00 is the end.
export function clock(span, round = Math.ceil) {
  const seconds = round(span / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}

export function createView(root, { words, groups }) {
  const answer = root.querySelector('.answer');
  const rows = new Map(); // group id -> its row

  function show({ outcome, say, tag = '', about = '', why = [], instead = '' }) {
    answer.dataset.outcome = outcome;
    slot(answer, 'say').textContent = say;
    slot(answer, 'tag').textContent = tag;
    slot(answer, 'about').textContent = about;
    slot(answer, 'why').replaceChildren(...why.map((text) => element('li', text)));
    slot(answer, 'why').hidden = why.length === 0;
    slot(answer, 'instead').textContent = instead;
    slot(answer, 'instead').hidden = !instead;
  }

  function renderRow(group) {
    const row = document.importNode(root.querySelector('template').content, true).firstElementChild;
    row.dataset.group = group.id;
    slot(row, 'way').textContent = group.way.name;
    slot(row, 'count').textContent = fill(words.pieces, { count: group.pieces.length });
    slot(row, 'tags').replaceChildren(...group.pieces.map(({ tag }) => {
      const label = element('li', '');
      label.append(Object.assign(element('span', tag), { className: 'tag' }));
      return label;
    }));
    for (const button of row.querySelectorAll('[data-do]')) button.dataset.group = group.id;
    const sending = group.entries !== null;
    const asked = group.early && left(group, Date.now()) > 0;
    shown(row, { out: !sending && !asked, sure: asked, keep: asked, another: !sending && !asked && !group.closed && !group.outAt, retry: sending });
    return row;
  }

  function shown(row, which) {
    for (const [name, visible] of Object.entries(which)) row.querySelector(`[data-do="${name}"]`).hidden = !visible;
  }

  function tickRow(group, now) {
    const row = rows.get(group.id);
    if (!row) return;
    const missing = left(group, now);
    const timed = group.way.needs > 0;
    row.dataset.state = !timed ? 'untimed' : missing > 0 ? 'running' : 'ready';
    const sending = group.entries !== null;
    const over = now - group.started - group.way.needs * 1000;
    const text = missing > 0 ? words.still : fill(words.over, { over: clock(over, Math.floor) });
    put(row, 'timer', timed ? clock(missing) : '');
    put(row, 'state', sending ? words.waiting : timed ? text : '');
  }

  function put(row, name, text) {
    const place = slot(row, name);
    if (place.textContent !== text) place.textContent = text;
  }

  return {
    answer(shownNow) {
      show(shownNow);
      answer.classList.remove('is-new');
      answer.getBoundingClientRect();
      answer.classList.add('is-new');
      answer.scrollIntoView({ block: 'nearest', behavior: 'instant' });
      const sound = shownNow.sound ?? SOUND_OF[shownNow.outcome];
      if (sound) play(sound);
    },

    render() {
      const list = slot(root, 'groups');
      const focused = list.contains(document.activeElement) ? { ...document.activeElement.dataset } : null;
      rows.clear();
      for (const group of groups.all()) rows.set(group.id, renderRow(group));
      list.replaceChildren(...rows.values());
      slot(root, 'none').hidden = rows.size > 0;
      for (const button of root.querySelectorAll('[data-way]')) button.setAttribute('aria-pressed', String(button.dataset.way === groups.way()));
      for (const beside of root.querySelectorAll('[data-beside]')) beside.hidden = beside.dataset.beside !== groups.way();
      if (focused) list.querySelector(`[data-group="${focused.group}"] [data-do="${focused.do}"]:not([hidden])`)?.focus();
      this.tick(Date.now());
    },

    tick(now) {
      for (const group of groups.all()) tickRow(group, now);
    },
    busy(count) {
      root.dataset.waiting = String(count);
    },
  };
}
