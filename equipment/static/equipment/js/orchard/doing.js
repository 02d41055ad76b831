// What a hand does, joined to the outbox: recorded on disk first, then said; taken back; sent; fetched; kept as a file.

import * as drafts from './drafts.js';
import { preparePhoto } from './outbox.js';

const MINUTES = 60_000;

export function createDoing(ctx, { sheets, draw, router }) {
  const { say, box, tell } = ctx;
  const photos = new Map();
  let busy = false;

  /**
   * Record `acts` and say `words`. `at`: when it happened, in ms; `photos`: pictures that the drafts name; `home`, `go`:
   * which screen comes next. Nothing is said to be done before it is on disk; a second touch meanwhile is none.
   */
  async function record(acts, words, { at = Date.now(), photos: pictures = [], home = false, go = null } = {}) {
    if (busy) return false;
    busy = true;
    const from = location.hash;
    try {
      const entries = await box.record(acts, { at, photos: pictures });
      for (const { item } of entries) photos.delete(item);
      await ctx.day.load();
      tell.done(words, entries);
      // Whoever has gone on meanwhile stays where they are.
      if (location.hash !== from) draw.again();
      else if (home) router.go('crew');
      else if (go) router.go(...go);
      else draw.again();
      return true;
    } catch (failure) {
      if (!failure.why) throw failure;
      tell.no(say(`disk_${failure.why}`), say('disk_more'));
      return false;
    } finally {
      busy = false;
    }
  }

  async function takeBack(entries) {
    const gone = new Set(ctx.day.journal().filter(({ entry }) => entry.verb === 'reversed').map(({ entry }) => entry.detail.entry));
    if (entries.some((entry) => gone.has(entry.id))) return tell.no(say('taken_back_already'));
    const done = await record(drafts.reversed(entries), say('said_taken_back'));
    // What the sheet holds already, only the book can take out of it: so another sheet is fetched.
    if (done && ctx.day.sheet()?.unfolded?.length > 0) {
      tell.note(say('said_taken_back'), say('shows_with_a_line'));
      await box.flush();
      await ctx.fetchSheets();
      draw.again();
    }
    return done;
  }

  return {
    record,
    takeBack,
    // The two or three things that the first screen offers at once.
    act: (name, crew, what) => record(drafts[name](crew, what), say(name === 'stopped' ? 'said_stopped' : 'said_arrived', { block: what, cause: name === 'stopped' ? say(`stop_${what}`) : '' })),
    photoOf: (tag) => photos.get(tag) ?? null,
    async keepPhoto(tag, file) {
      try {
        photos.set(tag, await preparePhoto(file));
      } catch {
        return tell.no(say('no_photo'));
      }
      return draw.again();
    },
    startDip({ bath, recipe, name }, pieces, scanned) {
      const way = { code: bath, name, recipe: recipe.code, needs: recipe.contact_seconds ?? 0, method: 'sterilise' };
      ctx.memory.lastBath(bath);
      ctx.dips.put(way, pieces.map(({ tag, about }) => ({ tag, about })), scanned, Date.now());
      ctx.round = {};
      navigator.wakeLock?.request('screen').catch(() => {}); // a phone that sleeps rings late
      tell.note(say('dip_started', { n: pieces.length }), say('dip_started_more'));
      draw.again();
      window.scrollTo({ top: 0, behavior: 'instant' });
    },
    async finishDip({ bath, recipe, tags, seconds, scanned, group = null }) {
      const acts = drafts.sterilised(tags, { bath, recipe, seconds, scanned });
      const done = await record(acts, say('said_sterilised', { n: tags.length, minutes: Math.floor(seconds / 60) }));
      if (done && group) ctx.dips.remove(group);
      if (done) ctx.round = {};
      draw.again();
    },
    async sendNow() {
      await box.flush();
      draw.again();
    },
    async retry(id) {
      await box.retry(id);
      draw.again();
    },
    async putAway(id) {
      await box.putAway(id);
      draw.again();
    },
    async chooseCrew(code) {
      ctx.memory.choose(code);
      await ctx.day.load();
      draw.again();
    },
    async exportFile() {
      const file = await box.export();
      const link = Object.assign(document.createElement('a'), { href: URL.createObjectURL(file), download: `orchard-${ctx.here.device.slice(-6)}-${new Date().toISOString().slice(0, 16).replace(/\D/g, '')}.jsonl` });
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), MINUTES);
      tell.note(say('exported'), say('exported_more'));
    },
    async refresh() {
      const { why } = await sheets.refresh(ctx.day.crews());
      await box.forgetSent(await sheets.mark());
      await ctx.day.load();
      if (why !== 'on') tell.note(say('sheets_not_fetched'), say(`line_${why === 'unread' ? 'unreachable' : why}`));
      else tell.note(say('sheets_fetched'));
      draw.again();
    },
  };
}
