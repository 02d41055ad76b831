// From the opening of the page to the frame that shows who has what, and what there is to show where it cannot.

import { createCrewDay } from './crew-day.js';
import { drawFrom } from './dom.js';
import { createDrawing, painted } from './drawing.js';
import { whoIsHere, whoWasHere } from './here.js';
import { createJournal } from './journal.js';
import { createMemory } from './memory.js';
import { createRouter } from './router.js';
import { screens } from './screens.js';
import { createSheets } from './sheets.js';
import { createTimes } from './times.js';
import { actWords, createWords } from './words.js';

const BAR = ['crew', 'dip', 'block', 'more'];

const slot = (root, name) => root.querySelector(`[data-slot="${name}"]`);

export async function open(root, db) {
  const given = JSON.parse(document.getElementById('orchard-script').textContent);
  const say = createWords(given.words);
  drawFrom(given.urls.icons);
  // A bad line must not keep the page from opening: with whoever was here last, who is asked once it shows.
  const before = whoWasHere();
  const { line, here } = before ? { here: before } : await whoIsHere(given.urls.here);
  if (!here) return nobody(root, say, line);
  try {
    const page = await show(root, { given, say, here, db });
    const { work } = await import('./working.js');
    return await work(root, page);
  } catch (failure) {
    if (!failure.why) throw failure;
    return stop(root, say(`disk_${failure.why}`));
  }
}

// The first screen, as soon as it can be: all else, other screens too, comes when it has been painted.
async function show(root, { given, say, here, db }) {
  const { user, device, store } = here;
  const sheets = createSheets({ db, urls: given.urls });
  const memory = createMemory(localStorage, { user: user.id, store });
  const day = createCrewDay({ journal: createJournal(db, { user, device, store }), sheets, memory, crews: () => here.crews, user: user.id });
  const ctx = context({ given, say, here, day, memory });
  const router = createRouter({ screens, show: (where) => drawing.show(where) });
  const bar = root.querySelector('.bar');
  const drawing = createDrawing(root, {
    screens, ctx, say,
    slot: { bar: (name) => BAR.includes(name), current: (name) => markBar(bar, name) },
  });
  Object.assign(ctx, { go: router.go, path: router.path, redraw: drawing.again });
  await day.load();
  if (router.isHome()) {
    drawing.show(router.where());
    await painted();
  }
  return { given, say, here, db, sheets, day, ctx, router, drawing };
}

// What the screens draw with; what they do with comes with `working`.
function context({ given, say, here, day, memory }) {
  let clock = null;
  function times() {
    const zone = day.sheet()?.time_zone;
    if (clock === null || clock.zone !== zone) clock = { zone, times: createTimes({ zone, language: document.documentElement.lang, say }) };
    return clock.times;
  }
  const moment = (at) => times().moment(at, day.now());
  // A touch may come before there is what it asks for: it waits.
  let ready = null;
  const working = new Promise((resolve) => {
    ready = resolve;
  });
  const ctx = {
    given, say, here, day, memory, times, ready, round: {}, pending: null, nextRound: {}, parked: [], others: [],
    act: (...what) => working.then(() => ctx.act(...what)),
    words: (act) => actWords(act, { say, day }),
    why: (code, params) => say(`why_${code}`, { fault: params.fault ? day.fault(params.fault).name : '', time: params.since ? moment(Date.parse(params.since)) : '' }),
    against: (code) => say(`against_${code}`),
    sheetAge: () => (day.fetchedAt() ? say('sheet_of', { time: moment(day.fetchedAt()) }) : say('no_sheet')),
    noSheet: () => say(here.crews.length === 0 ? 'no_crews' : 'no_sheet'),
  };
  return ctx;
}

function markBar(bar, name) {
  for (const link of bar.querySelectorAll('a')) {
    if (link.dataset.screen === name) link.setAttribute('aria-current', 'page');
    else link.removeAttribute('aria-current');
  }
}

function nobody(root, say, line) {
  slot(root, 'sign-in').hidden = false;
  slot(root, 'send').hidden = true;
  stop(root, say(line === 'signed_out' ? 'sign_in_first' : 'never_opened'));
}

function stop(root, text) {
  slot(root, 'status-main').textContent = text;
  slot(root, 'screen').querySelector('p').textContent = text;
  root.dataset.ready = 'true';
}
