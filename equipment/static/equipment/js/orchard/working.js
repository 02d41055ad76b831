// What a hand can do on the page once it shows: write down, send, scan, go to every screen; and what keeps it fresh.

import { createDips } from './dips.js';
import { createDoing } from './doing.js';
import { isAnother, whoIsHere } from './here.js';
import { onceAtATime } from './once.js';
import { openOutbox } from './outbox.js';
import { scanned } from './scanned.js';
import { createScanning } from './scanning.js';
import { allScreens } from './screens.js';
import { createStatusLine } from './status.js';
import { createTelling } from './telling.js';
import { tickTimers } from './ticking.js';
import { keepShell } from './upgrade.js';
import { listenForFirstKey } from '../sounds.js';

const SHEETS_EVERY = 10 * 60_000;
const LOOK_EVERY = 20_000;

const slot = (root, name) => root.querySelector(`[data-slot="${name}"]`);

/** `page` is what opening.js shows, with its parts. */
export async function work(root, page) {
  const { given, say, here, db, ctx, day, drawing, router } = page;
  const { user, device, store, revoked } = here;
  const [box] = await Promise.all([openOutbox({ user, device, store, urls: given.urls, revoked, db }), allScreens()]);
  listenForFirstKey();
  equip(root, page, box);
  const scanning = createScanning(root, { say, on: { scan: (text) => scanned(ctx, drawing, text) } });
  const status = createStatusLine(root.querySelector('.status'), { say, times: ctx.times, send: () => ctx.sendNow() });
  const look = onceAtATime(async () => {
    [ctx.parked, ctx.others] = await Promise.all([box.parked(), box.ofOthers(), day.load()]);
    status.show(box.status(), Date.now());
    drawing.refresh();
  });
  ctx.fetchSheets = () => fetchSheets(page, box, look);
  slot(root, 'scan').addEventListener('click', () => scanning.open());
  keepShell({ idle: () => isIdle(drawing, scanning) });
  box.onChange((now) => {
    status.show(now, Date.now());
    look();
  });
  ctx.ready();
  router.start();
  await look();
  setInterval(look, LOOK_EVERY);
  setInterval(ctx.fetchSheets, SHEETS_EVERY);
  document.addEventListener('visibilitychange', () => document.hidden || ctx.fetchSheets());
  const had = day.sheet();
  await ctx.fetchSheets();
  if (!had) drawing.show(router.where());
  root.dataset.ready = 'true';
}

// What the screens do with.
function equip(root, { say, here, sheets, ctx, drawing, router }, box) {
  ctx.box = box;
  ctx.tell = createTelling(slot(root, 'told'), { say, takeBack: (entries) => ctx.takeBack(entries) });
  Object.assign(ctx, createDoing(ctx, { sheets, draw: drawing, router }));
  ctx.dips = createDips(localStorage, `orchard-dips:${here.store}`, {
    ring: () => ctx.tell.timeUp(say('time_is_up'), say('time_is_up_more')),
    tick: (groups, now) => tickTimers(root, groups, now, ctx),
  });
}

async function fetchSheets({ given, here, sheets }, box, look) {
  const told = await whoIsHere(given.urls.here);
  if (told.line === 'on' && isAnother(told.here, here)) return location.reload();
  if (told.line === 'on') {
    Object.assign(here, told.here);
    await sheets.refresh(here.crews);
    await box.forgetSent(await sheets.mark());
  }
  return look();
}

// Whether the page may be loaded anew under the person's hands: no half-filled screen, no scan, nothing just told.
const isIdle = (drawing, scanning) => !scanning.isOpen() && ['crew', 'more'].includes(drawing.where()?.name);
