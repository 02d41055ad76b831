// The phone's outbox: what was recorded is on disk before anything says so, and goes to the book by itself.
//
//   openOutbox({user: {id, initials}, device, store, urls: {entries, photos, here}, revoked?, fetch?, db?}) -> Promise<box>
//
// Rejects with {why: 'no_storage'} where the browser keeps nothing. `device` is the id of this phone; `urls.photos` is
// what a photo's digest and a slash come after. A draft is {verb, item|crew|bath, picker?, block?, note?, detail?}.

import { createDb } from './db.js';
import { exported } from './export.js';
import { createJournal, newer } from './journal.js';
import { createPictures } from './photos.js';
import { createSending } from './sending.js';
import { createTiming } from './timing.js';

export { preparePhoto } from './photos.js';

// Whether the browser promises not to throw away what is kept here when room gets short; null where it cannot say.
async function persisted() {
  try {
    return (await navigator.storage.persisted()) || (await navigator.storage.persist());
  } catch {
    return null;
  }
}

export async function openOutbox(given) {
  const { user, db = createDb() } = given;
  const journal = createJournal(db, given);
  const pictures = createPictures(db, given);
  const sending = createSending({ journal, pictures, given, on: { taken: changed, clock: keepClock } });
  const timing = createTiming({ line: given.revoked ? 'revoked' : 'on', flush, on: setLine });
  const windows = new BroadcastChannel('shedbook-orchard');
  const told = new Set();
  const status = { unsent: 0, oldest: null, parked: 0, photos: 0, others: 0, line: given.revoked ? 'revoked' : 'on', say: '', persisted: null };
  const own = (row) => row.user.id === user.id;

  async function count() {
    const [waiting, parked, photos] = await Promise.all([journal.waiting(), journal.parked(), pictures.count()]);
    const mine = waiting.filter(own);
    Object.assign(status, {
      unsent: mine.length,
      oldest: mine.length > 0 ? Math.min(...mine.map((row) => row.at)) : null,
      parked: parked.filter(own).length,
      photos,
      others: waiting.length - mine.length,
    });
    for (const tell of told) tell({ ...status });
  }

  function changed() {
    windows.postMessage('changed');
    return count();
  }

  function setLine(line, say = '') {
    Object.assign(status, { line, say });
    for (const tell of told) tell({ ...status });
  }

  let clock = null;
  async function keepClock(off) {
    if (clock !== null && Math.abs(off - clock) < 2000) return;
    clock = off;
    await db.keep('clock', off).catch(() => {}); // full: it is a nicety
  }

  // What happened at `at` (ms). Several drafts are one act. `photos` as made by preparePhoto; the draft names one in
  // `detail.photo`. Resolves to the entries once they are on disk; rejects, with nothing written, as db.js says.
  async function record(drafts, { at = Date.now(), photos = [] } = {}) {
    const entries = await journal.add(drafts, at, photos);
    await changed();
    timing.nudge('record');
    return entries;
  }

  async function flush() {
    const came = await sending.flush();
    await changed();
    return came;
  }

  windows.onmessage = () => count().catch(() => {});
  [status.persisted] = await Promise.all([db.fact('persisted'), count()]);
  // Some browsers ask the person first, who may take their time.
  persisted().then((answer) => {
    status.persisted = answer;
    setLine(status.line, status.say);
    return db.keep('persisted', answer);
  }).catch(() => {});
  timing.start();

  return {
    record,
    status: () => ({ ...status }),
    // `tell(status)` at every change. Returns how to stop it.
    onChange(tell) {
      told.add(tell);
      return () => told.delete(tell);
    },
    // By a button: whatever the line was last. Resolves when it is over.
    flush: () => timing.now(),
    // The whole journal of this phone, whoever wrote it: [{id, entry, status, answer, answered, at, user, own}].
    entries: journal.entries,
    // What a sheet fetched at `mark` does not hold yet, as it was recorded: what is to be folded on it.
    since: async (mark) => newer(await journal.all(), mark),
    mark: journal.mark,
    forgetSent: journal.forgetSent,
    parked: async () => (await journal.parked()).map((row) => ({ ...row, own: own(row) })),
    // A parked one once more, or off the list: the book keeps what it refused. True where it was parked.
    retry: async (id) => (await journal.turn(id, 'parked', 'waiting')) && (await changed(), timing.nudge('record'), true),
    putAway: async (id) => (await journal.turn(id, 'parked', 'sent')) && (await changed(), true),
    // What other people left on this phone; it goes when they sign in: [{user, count, oldest}].
    async ofOthers() {
      const people = new Map();
      for (const row of (await journal.waiting()).filter((each) => !own(each))) {
        const one = people.get(row.user.id) ?? { user: row.user, count: 0, oldest: row.at };
        people.set(row.user.id, { ...one, count: one.count + 1, oldest: Math.min(one.oldest, row.at) });
      }
      return Array.from(people.values());
    },
    // Everybody's that the book has not answered or not taken, as a file for `import_outbox`.
    export: async () => exported({ rows: await journal.all(), photos: await pictures.all(), given, clock: await db.fact('clock') }),
    close() {
      timing.stop();
      windows.close();
    },
  };
}
