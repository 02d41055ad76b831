// The counter as it shows: the answer, the direction, whose kit, the last scans, the line to the book.

import { play } from '../sounds.js';
import { fill } from './answers.js';

const LINES_KEPT = 8;
const SOUND_OF = { yes: 'yes', no: 'no', partial: 'partial', note: 'note' };

export function createView(root, { words, figures }) {
  const slot = (name, within = root) => within.querySelector(`[data-slot="${name}"]`);
  const answer = root.querySelector('.answer');
  const mode = root.querySelector('.mode');
  const connection = root.querySelector('.connection');
  const log = slot('log');
  const lines = new WeakMap();

  // One announcement an answer: while `unfinished`, a screen reader waits for what is still to come.
  function show({ outcome, say, tag = '', about = '', why = [], instead = '', unfinished = false }) {
    answer.setAttribute('aria-busy', String(unfinished));
    answer.dataset.outcome = outcome;
    slot('say', answer).textContent = say;
    slot('tag', answer).textContent = tag;
    slot('about', answer).textContent = about ?? '';
    const list = slot('why', answer);
    list.replaceChildren(...why.filter(Boolean).map((text) => element('li', text)));
    list.hidden = list.children.length === 0;
    slot('instead', answer).textContent = instead;
    slot('instead', answer).hidden = !instead;
  }

  return {
    answer(shown) {
      show(shown);
      answer.classList.remove('is-new');
      answer.getBoundingClientRect();
      answer.classList.add('is-new');
      answer.scrollIntoView({ block: 'nearest', behavior: 'instant' });
      const sound = shown.sound ?? SOUND_OF[shown.outcome];
      if (sound) play(sound);
    },
    amend: show,
    outcome: () => answer.dataset.outcome,

    mode(state) {
      mode.dataset.mode = state.mode;
      root.dataset.mode = state.mode;
      slot('mode', mode).textContent = words[state.mode];
      const crews = Array.from(state.wet.values());
      slot('wet', mode).textContent = crews.map((crew) => fill(words.is_wet, { crew })).join(', ');
      slot('wet', mode).parentElement.hidden = crews.length === 0 || state.mode === 'out';
    },

    // The card of whoever stands here; none: what to do next.
    work(html) {
      slot('work').innerHTML = html;
      slot('nobody').hidden = html !== '';
      slot('unseen').hidden = true;
    },
    // Someone whose card cannot be had.
    unseen(who) {
      this.work('');
      slot('unseen-who').textContent = who;
      slot('unseen').hidden = false;
      slot('nobody').hidden = true;
    },
    crew: (crew) => figures.show(crew),

    log(act) {
      const line = document.importNode(root.querySelector('template').content, true).firstElementChild;
      const now = new Date(act.at ?? Date.now());
      act.at ??= now.toISOString();
      slot('time', line).textContent = now.toLocaleTimeString(document.documentElement.lang, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
      slot('time', line).dateTime = now.toISOString();
      slot('text', line).textContent = act.text;
      slot('state', line).textContent = act.unchecked?.size > 0 ? words.noted : '';
      slot('tag', line).textContent = act.tags.length === 1 ? act.tags[0] : act.tag ?? '';
      slot('tag', line).hidden = slot('tag', line).textContent === '';
      lines.set(act, line);
      log.prepend(line);
      while (log.children.length > LINES_KEPT) log.lastElementChild.remove();
      slot('no-log').hidden = true;
    },
    strike(act) {
      const text = lines.get(act) && slot('text', lines.get(act));
      text?.replaceWith(element('s', text.textContent));
    },
    // A line that was not checked when it was written is in the book now.
    inBook(act) {
      const line = lines.get(act);
      if (line) slot('state', line).textContent = words.now_in_book;
    },
    // Something that concerns no scan of now: a queued one was refused, say.
    remark(text) {
      slot('remarks').prepend(element('li', text));
      while (slot('remarks').children.length > LINES_KEPT) slot('remarks').lastElementChild.remove();
    },

    line(line, count, others) {
      connection.dataset.connection = line === 'on' ? 'on' : 'off';
      const name = { on: 'line_on', unreachable: 'line_off', full: 'line_full', signed_out: 'line_signed_out' }[line];
      const left = others.map((one) => fill(words.line_others, one));
      const texts = line === 'on' && left.length > 0 ? left : [fill(words[name], { count }), ...left];
      if (slot('line').textContent !== texts.join(' ')) slot('line').textContent = texts.join(' ');
      slot('retry').hidden = line === 'on' || line === 'signed_out';
      slot('sign-in').hidden = line !== 'signed_out';
    },
    busy(count) {
      root.dataset.waiting = String(count);
      slot('checking').textContent = count > 1 ? fill(words.checking, { count }) : '';
    },
    find() {
      root.querySelector('[role="combobox"]').focus();
    },
  };
}

export function element(name, text) {
  const made = document.createElement(name);
  made.textContent = text;
  return made;
}
