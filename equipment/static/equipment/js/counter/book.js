// Writes in the book: at once while there is a line to it (`gate: hold`), else into the outbox, whence it goes by
// itself as a queued note, under the same ids.

import { sendJson, talk } from './talk.js';
import { uuid7 } from './uuid7.js';

const MOST_AT_ONCE = 100;
const FLUSH_PATIENCE = 20_000;
const SHORTEST_WAIT = 1000;
const LONGEST_WAIT = 15_000;

// `given`: device, store, urls. `on.line(line, count)` is told of every change: 'on', 'unreachable', 'full', 'signed_out';
// `on.sent(entry, answer)` of every queued entry that was answered; `on.back()` when the line is back and nothing waits.
export function createBook({ given, outbox, nextSeq, on }) {
  let line = 'on';
  let failures = 0;
  let timer = null;
  let flushing = false;

  function setLine(now) {
    const before = line;
    line = now;
    on.line(line, outbox.waiting().length);
    if (line === 'on' && before !== 'on') on.back();
  }

  function lost({ why, full = false }) {
    setLine(full ? 'full' : why);
    clearTimeout(timer);
    // Signed out: only a person can help, so it waits to be asked.
    if (why !== 'signed_out') timer = setTimeout(flush, Math.min(LONGEST_WAIT, SHORTEST_WAIT * 2 ** failures));
    failures += 1;
  }

  const batch = (entries, gate) => ({
    device: given.device, store: given.store, sent_at: new Date().toISOString(), gate, entries,
  });

  // Record `drafts` ({verb, item or crew, picker, detail, note}) as happening at `at` (ms). Several are one act.
  // Resolves to {answers, entries}, {waits, entries}, {refused: words} or {full: true}.
  async function record(drafts, at) {
    const act = drafts.length > 1 ? { act: uuid7() } : {};
    const entries = drafts.map((draft) => ({
      id: uuid7(), happened_at: new Date(at).toISOString(), device_seq: nextSeq(), ...act, ...draft,
    }));
    const kept = keepAll(entries);
    if (line === 'on') {
      const reply = await sendJson(given.urls.entries, batch(entries, 'hold'));
      if (reply.data || reply.why === 'refused') for (const entry of entries) outbox.drop(entry.id);
      if (reply.data) return { answers: reply.data.answers, entries };
      if (reply.why === 'refused') return { refused: reply.say };
      lost(reply);
    }
    if (!kept) return { full: true };
    for (const entry of entries) outbox.letWait(entry);
    setLine(line);
    return { waits: true, entries };
  }

  function keepAll(entries) {
    try {
      for (const entry of entries) outbox.keep(entry);
      return true;
    } catch {
      return false;
    }
  }

  // Send what waits, oldest first. With nothing to send, ask whether the line is back at all.
  async function flush() {
    if (flushing) return;
    flushing = true;
    clearTimeout(timer);
    try {
      for (let entries = outbox.waiting(); ; entries = outbox.waiting()) {
        if (entries.length === 0 && line === 'on') return setLine('on');
        const reply = entries.length === 0 ? await talk(given.urls.sheet) : await send(entries.slice(0, MOST_AT_ONCE));
        if (!reply.data) return lost(reply.why === 'refused' ? { why: 'unreachable' } : reply);
        if (outbox.waiting().length === 0) {
          failures = 0;
          return setLine('on');
        }
      }
    } finally {
      flushing = false;
    }
  }

  async function send(entries) {
    const notes = entries.map((entry) => ({ ...entry, queued: true }));
    const reply = await sendJson(given.urls.entries, batch(notes, 'note'), { patience: FLUSH_PATIENCE });
    for (const answer of reply.data?.answers ?? []) {
      const entry = entries.find((each) => each.id === answer.id);
      if (!entry || !outbox.has(answer.id)) continue;
      outbox.drop(answer.id);
      on.sent(entry, answer);
    }
    return reply;
  }

  // Read something for the page. A line that is cut is noticed here as well.
  async function ask(url) {
    if (line !== 'on') return { why: line };
    const reply = await talk(url);
    if (reply.why === 'unreachable' || reply.why === 'signed_out') lost(reply);
    return reply;
  }

  return { record, flush, ask, lost, isOn: () => line === 'on' };
}
