// Dip, wash and dry by scanning. A scanner drives all of it; this file only joins the parts in wash/ to the page.

import { parse } from './codes.js';
import { fill } from './counter/answers.js';
import { listen } from './counter/keys.js';
import { createCount } from './counter/outbox.js';
import { createQueue } from './counter/queue.js';
import { talk } from './counter/talk.js';
import { uuid7 } from './counter/uuid7.js';
import { listenForFirstKey } from './sounds.js';
import { bathIn, createDesk } from './wash/desk.js';
import { createGroups, left } from './wash/groups.js';
import { createSending } from './wash/sending.js';
import { createTelling } from './wash/telling.js';
import { createView } from './wash/view.js';

const TICK = 250;

const isCode = (text) => parse(text).ok || parse(text).why === 'wrong_check' || bathIn(text) !== null;

export function mount(root) {
  const given = JSON.parse(document.getElementById('wash-script').textContent);
  const key = `wash-groups:${given.user}:${given.store}`;
  const groups = createGroups(localStorage, key);
  const view = createView(root, { words: given.words, groups });
  const telling = createTelling({ given, groups, view });
  const sending = createSending({ given, device: given.device ?? ownDevice(given.user), nextSeq: createCount(localStorage), groups, on: telling });
  const desk = createDesk({ given, groups, view, send: sending.send, ask: createAsk(given.urls.check) });
  const queue = createQueue({ work: desk.work, failed: (error) => telling.fault(error), busy: view.busy });

  listenForFirstKey();
  const field = root.querySelector('#find');
  listen(document, {
    keys: given.keys,
    isCode,
    find: field,
    on: {
      scan: (text) => queue.add({ kind: 'scan', text, at: Date.now() }),
      key: (name) => queue.add({ kind: 'tag', name }),
      digit: () => false,
    },
  });
  listenToHands(root, queue);
  field.form.addEventListener('submit', (event) => {
    event.preventDefault();
    if (field.value.trim()) queue.add({ kind: 'scan', text: field.value, at: Date.now() });
    field.value = '';
  });
  window.addEventListener('storage', (event) => {
    if (event.key !== key) return;
    groups.reread();
    view.render();
  });
  window.addEventListener('online', sending.flush);
  setInterval(tick, TICK);
  start();

  function tick() {
    const now = Date.now();
    view.tick(now);
    for (const group of groups.all()) {
      if (group.rang || group.outAt || group.way.needs === 0 || left(group, now) > 0) continue;
      group.rang = true;
      group.early = false;
      groups.save();
      view.render();
      telling.timeUp(group);
    }
  }

  function start() {
    const wanted = new URLSearchParams(location.search).get('way');
    if (desk.knows(wanted)) groups.choose(wanted);
    else if (!desk.knows(groups.way())) groups.choose(null);
    view.render();
    view.busy(0);
    const chosen = given.ways.find((way) => way.code === groups.way());
    if (chosen) view.answer({ outcome: 'none', say: fill(given.words.chosen, { way: chosen.name }), instead: given.words.ready });
    sending.flush();
    root.dataset.ready = 'true';
  }
}

// Buttons, and Enter on the bare page: out, for the group that is meant.
function listenToHands(root, queue) {
  root.addEventListener('click', (event) => {
    const button = event.target.closest('[data-way], [data-do], [data-tag]');
    if (!button) return;
    const { way, do: act, group, tag } = button.dataset;
    if (way) queue.add({ kind: 'choose', code: way });
    else if (tag) queue.add({ kind: 'tag', name: tag });
    else queue.add({ kind: act === 'sure' ? 'out' : act, id: group });
  });
  document.addEventListener('keydown', (event) => {
    if (event.key === 'Enter' && !event.defaultPrevented && !event.repeat && event.target === document.body) queue.add({ kind: 'tag', name: 'finish' });
  });
}

function createAsk(url) {
  return (way, tag, waiting) => talk(`${url.replace('CODE', tag)}&way=${encodeURIComponent(way)}&waiting=${waiting}`);
}

// A browser that is no counter has a number of its own for each person who writes with it.
function ownDevice(user) {
  const key = `wash-device:${user}`;
  const known = localStorage.getItem(key) ?? uuid7();
  try {
    localStorage.setItem(key, known);
  } catch {
    // Full: a new number each time, which the book takes as well.
  }
  return known;
}
