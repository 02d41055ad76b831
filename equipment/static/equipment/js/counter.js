// The counter: a keyboard-wedge scanner drives all of it. This file only joins the parts in counter/ to the page.

import { parse } from './codes.js';
import { createAnswers, fill } from './counter/answers.js';
import { createBook } from './counter/book.js';
import { createDesk } from './counter/desk.js';
import { createFigures, fetchHtml } from './counter/figures.js';
import { createFind } from './counter/find.js';
import { listen } from './counter/keys.js';
import { createMemory } from './counter/memory.js';
import { createCount, createOutbox } from './counter/outbox.js';
import { createPanels } from './counter/panels.js';
import { createQueue } from './counter/queue.js';
import { createSheet } from './counter/sheet.js';
import { sendForm } from './counter/talk.js';
import { createView } from './counter/view.js';
import { listenForFirstKey } from './sounds.js';

const SHEET_EVERY = 3 * 60 * 1000;

const isCode = (text) => parse(text).ok || parse(text).why === 'wrong_check';
const slot = (root, name) => root.querySelector(`[data-slot="${name}"]`);

export function mount(root) {
  const given = JSON.parse(document.getElementById('counter-script').textContent);
  const figures = createFigures(slot(root, 'figures'), given.urls.figures, fetchHtml);
  const view = createView(root, { words: given.words, figures });
  const sheet = createSheet();
  const answers = createAnswers(given);
  const outbox = createOutbox(localStorage, given.user);
  const book = createBook({
    given,
    outbox,
    nextSeq: createCount(localStorage),
    on: {
      line: (line, count) => view.line(line, count, outbox.ofOthers()),
      back: () => queue.add({ kind: 'back' }),
      sent(entry, answer) {
        desk.sent(entry);
        tellSent(entry, answer, view, given.words);
      },
    },
  });
  const memory = createMemory(sessionStorage, given);
  const panels = createPanels(root, {
    digit: (digit) => queue.add({ kind: 'digit', digit, at: Date.now() }),
    why: (why) => queue.add({ kind: 'why', why, at: Date.now() }),
  });
  const hurried = () => queue.hurried();
  const desk = createDesk({ given, book, sheet, view, panels, answers, post: sendForm, hurried, memory });
  const queue = createQueue({ work: desk.work, failed: (error) => view.answer(fault(error, answers)), busy: view.busy });

  listenForFirstKey();
  const field = root.querySelector('[role="combobox"]');
  listen(document, {
    keys: given.keys,
    isCode,
    find: field,
    on: {
      scan: (text, at) => queue.add({ kind: 'scan', text, at }),
      key: (name, at) => queue.add({ kind: 'tag', name, at }),
      digit(digit) {
        if (!/^\d$/.test(digit) || !desk.choosing()) return false;
        queue.add({ kind: 'digit', digit, at: Date.now() });
        return true;
      },
    },
  });
  const someoneNew = newPickerForm(root, (fields) => queue.add({ kind: 'add', fields }));
  createFind({
    field, list: slot(root, 'found'), status: slot(root, 'found-count'), sheet, isCode, words: given.words, fill,
    on: { someoneNew, picked: (one) => queue.add({ kind: 'picked', one }) },
  });
  for (const button of root.querySelectorAll('[data-tag]')) {
    button.addEventListener('click', () => queue.add({ kind: 'tag', name: button.dataset.tag, at: Date.now() }));
  }
  showNames(root, view);
  keepInTouch(root, { book, sheet, view, desk, queue, given });
}

// The sheet fresh, the outbox on its way: at the start, on a timer, and whenever the line may be back.
function keepInTouch(root, { book, sheet, view, desk, queue, given }) {
  async function loadSheet() {
    const { data } = await book.ask(given.urls.sheet);
    if (data) sheet.read(data);
  }
  view.mode(desk.state);
  view.busy(0);
  slot(root, 'retry').addEventListener('click', book.flush);
  window.addEventListener('online', book.flush);
  document.addEventListener('visibilitychange', () => document.hidden || book.flush());
  setInterval(loadSheet, SHEET_EVERY);
  queue.add({ kind: 'resume' });
  loadSheet().then(book.flush).then(() => {
    root.dataset.ready = 'true';
  });
}

// The names behind the crew's figures, in the place of the kit card until the next scan.
function showNames(root, view) {
  root.addEventListener('click', async (event) => {
    const button = event.target.closest('[data-names-url]');
    const html = button && await fetchHtml(button.dataset.namesUrl);
    if (html) view.work(html);
  });
}

function newPickerForm(root, add) {
  const form = slot(root, 'new-picker');
  form.addEventListener('submit', (event) => {
    event.preventDefault();
    form.hidden = true;
    document.activeElement?.blur();
    add(Object.fromEntries(new FormData(form)));
    form.reset();
  });
  form.addEventListener('reset', () => {
    form.hidden = true;
  });
  // A list of choices does not send its form upon Enter by itself.
  form.elements.crew.addEventListener('keydown', (event) => {
    if (event.key === 'Enter') form.requestSubmit();
  });
  return (name) => {
    form.hidden = false;
    form.elements.name.value = name;
    form.elements.crew.focus();
  };
}

function tellSent(entry, answer, view, words) {
  if (answer.outcome === 'refused') view.remark(fill(words.queued_refused, { say: answer.say }));
  for (const found of answer.discrepancies ?? []) {
    view.remark(fill(words.queued_contested, { tag: entry.item ?? entry.crew ?? '', say: found.say }));
  }
}

// A fault of our own: said, never swallowed, and the next scan goes on.
function fault(error, answers) {
  console.error(error);
  return answers.no('fault');
}
