// What waits on this phone goes to the book: in the order it was recorded, in batches, entries first and then photos.
// An entry stops waiting only upon the answer for that very entry. One sending at a time, in all windows together.

import { ask } from './line.js';

const MOST_AT_ONCE = 100;
const OUTCOMES = ['recorded', 'known', 'refused'];
const MOST_ASIDE = 3; // entries that cannot be read, one after the other, until it is the request that is to blame

const locked = (work) => (navigator.locks ? navigator.locks.request('shedbook-orchard-sending', work) : work());

// `given`: {user, urls: {entries, here}, fetch}. `pictures` as in photos.js. `on.taken(rows)` is told of entries that
// were answered, `on.clock(ms)` what to add to this phone's clock.
export function createSending({ journal, pictures, given, on }) {
  const { user, urls, fetch } = given;
  const headers = { 'X-Author': String(user.id) };
  let running = null;
  let more = false;

  // Resolves to what it came to: {why: 'on' | 'revoked', sure?} or, with something left, {why, wait?, say?} as in line.js.
  function flush() {
    more = true;
    running ??= (async () => {
      let came = null;
      try {
        while (more) {
          more = false;
          came = await locked(round);
        }
      } finally {
        running = null;
      }
      return came;
    })();
    return running;
  }

  async function round() {
    const entries = await sendEntries();
    if (entries.why !== 'on') return entries;
    const photos = await pictures.send((url, options) => asAuthor(() => ask(url, { ...options, headers, fetch })));
    if (photos.why !== 'on' || entries.sent + photos.sent > 0) return photos;
    return whoIsHere();
  }

  // Nothing to send: is there a line, and is it still this person who is signed in?
  async function whoIsHere() {
    const unsent = { 'X-Unsent': String((await journal.waiting()).length) };
    const reply = await ask(urls.here, { headers: unsent, fetch });
    if (!reply.data) return reply.why === 'unread' ? { why: 'unreachable' } : reply;
    if (typeof reply.data.user !== 'object' || reply.data.user === null) return { why: 'unreachable' };
    told(reply);
    if (reply.data.user.id !== user.id) return { why: 'signed_out' };
    return { why: reply.data.revoked ? 'revoked' : 'on', sure: true };
  }

  // A 403 may only mean that the page's token is old, as after signing in elsewhere: asking who is here renews it.
  async function asAuthor(sending) {
    const reply = await sending();
    if (reply.why !== 'signed_out') return reply;
    const here = await whoIsHere();
    return here.why === 'on' || here.why === 'revoked' ? sending() : reply;
  }

  async function sendEntries() {
    let most = MOST_AT_ONCE;
    let few = most;
    let sent = 0;
    const aside = new Map();
    for (;;) {
      const waiting = await journal.waiting();
      const rows = waiting.filter((row) => row.user.id === user.id && !aside.has(row.id));
      if (rows.length === 0 || (sent === 0 && aside.size >= MOST_ASIDE)) break;
      const batch = together(rows).slice(0, few);
      const reply = await asAuthor(() => post(batch, waiting.length - batch.length));
      if (reply.data) {
        const taken = await take(batch, reply.data.answers);
        if (taken === 0) return { why: 'unreachable' };
        sent += taken;
        continue;
      }
      if (reply.why !== 'too_large' && reply.why !== 'unread') return reply;
      if (batch.length > 1) few = Math.ceil(batch.length / 2);
      else aside.set(batch[0].id, reply);
      if (reply.why === 'too_large') most = few;
      else if (batch.length === 1) few = most;
    }
    if (aside.size > 0 && sent === 0) return { why: 'unreachable', say: aside.values().next().value.say };
    await park(aside);
    return { why: 'on', sent };
  }

  // Those at the head that go in one request: of one device and one store.
  function together(rows) {
    const other = rows.findIndex((row) => row.device !== rows[0].device || row.store !== rows[0].store);
    return other < 0 ? rows : rows.slice(0, other);
  }

  // `left`: how much of anybody's is still on this phone once these have gone.
  async function post(rows, left) {
    const [{ device, store }] = rows;
    const entries = rows.map((row) => ({ ...row.entry, queued: true }));
    const body = JSON.stringify({ device, store, sent_at: new Date().toISOString(), gate: 'note', entries });
    const reply = await ask(urls.entries, { body, headers: { ...headers, 'X-Unsent': String(left) }, fetch });
    if (!reply.data) return reply;
    if (!Array.isArray(reply.data.answers)) return { why: 'unreachable' };
    told(reply);
    return reply;
  }

  // How many of `rows` the answers are of.
  async function take(rows, answers) {
    const asked = new Set(rows.map((row) => row.id));
    const ours = answers.filter((answer) => asked.has(answer?.id) && OUTCOMES.includes(answer.outcome));
    const taken = ours.length > 0 ? await journal.answer(ours) : [];
    if (taken.length > 0) on.taken(taken);
    return taken.length;
  }

  // What could not be read alone, while others could, is put aside for a person; the rest has gone on.
  async function park(aside) {
    const refused = Array.from(aside, ([id, { code = 'too_large', say = '' }]) => ({ id, outcome: 'refused', code, say, discrepancies: [], unread: true }));
    if (refused.length > 0) on.taken(await journal.answer(refused));
  }

  function told({ off }) {
    if (off !== null) on.clock(off);
  }

  return { flush };
}
