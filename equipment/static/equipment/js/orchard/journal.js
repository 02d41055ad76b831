// What was recorded on this phone, by whoever used it: each entry as it goes to the book, and what became of it.
//
// A row: {id, seq, device, user: {id, initials}, store, at (ms, when it was written down), entry, status, answer, answered}.
// `status`: 'waiting' until the book has answered for that very entry, then 'sent', or 'parked' where it was refused.
// `answered` counts the answered batches of this phone: what a sheet fetched after batch n holds is all with
// `answered` <= n. It is a count and no time, as a phone's clock may be set back.

import { uuid7 } from '../counter/uuid7.js';
import { asked } from './db.js';
import { withoutName } from './here.js';

const BOTH = ['entries', 'facts'];
const KEPT_FOR = 18 * 3_600_000;
const bySeq = (one, other) => one.seq - other.seq;

// The device's own count never goes back, whatever its clock does; it follows the clock so that a phone whose storage
// was cleared does not begin again at 1.
async function nextSeqs(facts, device, count, now) {
  const name = `seq:${device}`;
  const last = (await asked(facts.get(name)))?.value ?? 0;
  const first = Math.max(now, last + 1);
  facts.put({ name, value: first + count - 1 });
  return first;
}

// Of these rows the entries that a sheet fetched at `mark` does not hold.
export function newer(rows, mark) {
  const isNewer = (row) => row.status === 'waiting' || (row.status === 'sent' && row.answered > mark && row.answer?.outcome !== 'refused');
  return rows.filter(isNewer).map((row) => row.entry);
}

export function createJournal(db, { user, device, store, now = () => Date.now() }) {
  const by = withoutName(user);
  const entryOf = ({ photo, ...draft }, act, seq, at) => ({
    id: uuid7(now()), happened_at: new Date(at).toISOString(), device_seq: seq, ...act, ...draft,
  });

  // Write down `drafts`, several as one act, and `photos` ({sha256, type, bytes}) with them: all or nothing.
  function add(drafts, at, photos) {
    const act = drafts.length > 1 ? { act: uuid7(now()) } : {};
    return db.run([...BOTH, 'photos'], 'readwrite', async (transaction) => {
      const first = await nextSeqs(transaction.objectStore('facts'), device, drafts.length, now());
      const entries = drafts.map((draft, place) => entryOf(draft, act, first + place, at));
      const rows = transaction.objectStore('entries');
      for (const entry of entries) {
        rows.add({ id: entry.id, seq: entry.device_seq, device, user: by, store, at: now(), entry, status: 'waiting', answer: null, answered: 0 });
      }
      const pictures = transaction.objectStore('photos');
      for (const photo of photos) pictures.put({ ...photo, user: by, status: 'waiting', tries: 0 });
      return entries;
    });
  }

  const all = async () => (await db.run(['entries'], 'readonly', (t) => asked(t.objectStore('entries').getAll()))).sort(bySeq);

  const of = async (status) => {
    const rows = await db.run(['entries'], 'readonly', (t) => asked(t.objectStore('entries').index('status').getAll(status)));
    return rows.sort(bySeq);
  };

  const batches = async (facts) => (await asked(facts.get('batches')))?.value ?? 0;

  // Put down `answers` ({id, outcome, code, say, codes, discrepancies}). Only an entry that waits takes one.
  // Returns the rows that did.
  function answer(answers) {
    return db.run(BOTH, 'readwrite', async (transaction) => {
      const facts = transaction.objectStore('facts');
      const rows = transaction.objectStore('entries');
      const answered = (await batches(facts)) + 1;
      const taken = [];
      for (const { state, reasons, ...given } of answers) {
        const row = await asked(rows.get(given.id));
        if (row?.status !== 'waiting') continue;
        Object.assign(row, { status: given.outcome === 'refused' ? 'parked' : 'sent', answer: given, answered });
        rows.put(row);
        taken.push(row);
      }
      facts.put({ name: 'batches', value: answered });
      return taken;
    });
  }

  // Change the status of one row where it is `from`; true where it was.
  function turn(id, from, to) {
    return db.run(['entries'], 'readwrite', async (transaction) => {
      const rows = transaction.objectStore('entries');
      const row = await asked(rows.get(id));
      if (row?.status !== from) return false;
      rows.put({ ...row, status: to, answer: to === 'waiting' ? null : row.answer });
      return true;
    });
  }

  // What is sent and in every sheet (`mark`) is kept for the day all the same: a hand may still want to take it back.
  function forgetSent(mark) {
    const today = (row) => Math.abs(now() - row.at) < KEPT_FOR && row.answer?.outcome !== 'refused';
    return db.run(['entries'], 'readwrite', async (transaction) => {
      const rows = transaction.objectStore('entries');
      const sent = await asked(rows.index('status').getAll('sent'));
      const gone = sent.filter((row) => row.answered <= mark && !today(row));
      for (const row of gone) rows.delete(row.id);
      return gone.length;
    });
  }

  return {
    // With whether they are of the person who is here.
    entries: async () => (await all()).map((row) => ({ ...row, own: row.user.id === user.id })),
    add, all, answer, turn, forgetSent,
    waiting: () => of('waiting'),
    parked: () => of('parked'),
    mark: async () => (await db.fact('batches')) ?? 0,
  };
}
