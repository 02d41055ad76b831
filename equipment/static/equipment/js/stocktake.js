// A stocktake by scanner: several people at once, each with this page. This file only joins the parts in stocktake/.

import { parse } from './codes.js';
import { listen } from './counter/keys.js';
import { createQueue } from './counter/queue.js';
import { listenForFirstKey } from './sounds.js';
import { createDesk } from './stocktake/desk.js';
import { createOutbox } from './stocktake/outbox.js';
import { createSending } from './stocktake/sending.js';
import { createView } from './stocktake/view.js';

const isCode = (text) => parse(text).ok || parse(text).why === 'wrong_check';

export function mount(root) {
  const given = JSON.parse(document.getElementById('stocktake-script').textContent);
  const outbox = createOutbox(localStorage, given.stocktake, given.user);
  const view = createView(root, given.words);
  const sending = createSending({ given, outbox, changed: showWaiting, late: (answers) => view.answer(desk.summed(answers)) });
  const desk = createDesk({ given, outbox, view, sending });
  const queue = createQueue({ work: desk.work, failed: desk.fault, busy: view.busy });
  desk.hurried = queue.hurried;

  listenForFirstKey();
  const field = root.querySelector('#find');
  listen(document, {
    keys: given.keys,
    isCode,
    find: field,
    on: {
      scan: (text) => queue.add({ kind: 'scan', text, at: Date.now() }),
      key: (name) => queue.add({ kind: name }),
      digit: () => false,
    },
  });
  field.form.addEventListener('submit', (event) => {
    event.preventDefault();
    if (field.value.trim()) queue.add({ kind: 'scan', text: field.value, at: Date.now() });
    field.value = '';
  });
  root.addEventListener('click', (event) => {
    const act = event.target.closest('[data-do]')?.dataset.do;
    if (act === 'undo') queue.add({ kind: 'undo' });
    if (act === 'retry') sending.flush();
  });
  window.addEventListener('online', sending.flush);
  window.addEventListener('storage', showWaiting);
  document.addEventListener('visibilitychange', () => {
    if (!document.hidden) sending.flush();
  });

  function showWaiting() {
    view.waiting(outbox.mine().length, sending.why(), outbox.ofOthers());
  }

  view.busy(0);
  showWaiting();
  sending.flush();
  root.dataset.ready = 'true';
}
