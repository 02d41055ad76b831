// A group goes to the book: one act, a line for each piece, through the same door as the counter's scans.
//
// Its entries are made once and kept with the group, so that sending again is harmless; while the line is cut it is
// tried again by itself.

import { sendJson } from '../counter/talk.js';
import { uuid7 } from '../counter/uuid7.js';
import { lasted } from './groups.js';

const LONGEST = 7 * 24 * 3600;
const AGAIN = 15_000;

export function entriesOf(group, nextSeq) {
  const { way } = group;
  const detail = { method: way.method, each_scanned: true };
  if (way.recipe) detail.recipe = way.recipe;
  if (way.bath) detail.seconds = Math.min(LONGEST, lasted(group, group.outAt));
  const act = group.pieces.length > 1 ? { act: uuid7() } : {};
  const bath = way.bath ? { bath: way.bath } : {};
  return group.pieces.map(({ tag }) => ({
    id: uuid7(), verb: 'cleaned', item: tag, ...bath, ...act, happened_at: new Date(group.outAt).toISOString(), device_seq: nextSeq(), detail,
  }));
}

// `sent(group, answers)` once the book has answered, `stuck(group, why, say)` where it has not.
export function createSending({ given, device, nextSeq, groups, on }) {
  const under = new Set();
  let timer = null;

  async function send(group) {
    if (under.has(group.id)) return;
    under.add(group.id);
    group.outAt ??= Date.now();
    group.entries ??= entriesOf(group, nextSeq);
    groups.save();
    const batch = { device, store: given.store, sent_at: new Date().toISOString(), gate: 'hold', entries: group.entries };
    const reply = await sendJson(given.urls.entries, batch);
    under.delete(group.id);
    if (reply.data) return answered(group, reply.data.answers);
    if (reply.why === 'refused') Object.assign(group, { outAt: null, entries: null });
    groups.save();
    if (reply.why === 'unreachable') again();
    return on.stuck(group, reply.why, reply.say);
  }

  // Recorded whole, or not at all: what was refused for itself goes off the list, and the others can be sent again.
  function answered(group, answers) {
    const refused = answers.filter((answer) => answer.outcome === 'refused');
    const tagOf = (answer) => group.entries.find((entry) => entry.id === answer.id)?.item ?? '';
    const told = answers.map((answer) => ({ tag: tagOf(answer), known: answer.outcome === 'known', codes: answer.codes ?? [], say: answer.say, code: answer.code }));
    if (refused.length === 0) {
      groups.remove(group);
      return on.sent(group, told);
    }
    const wrong = told.filter((each) => each.code && each.code !== 'act_refused');
    group.entries = null;
    groups.save();
    for (const { tag } of wrong) groups.drop(group, tag);
    return on.leftOut(group, wrong);
  }

  function again() {
    clearTimeout(timer);
    timer = setTimeout(flush, AGAIN);
  }

  function flush() {
    for (const group of groups.sending()) send(group);
  }

  return { send, flush };
}
