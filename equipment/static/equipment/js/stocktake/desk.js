// What a scan means at a stocktake. One at a time, see counter/queue.js; while more are waiting they are only kept, and
// the last of them sends all.

import { parse } from '../codes.js';
import { fill } from '../counter/answers.js';
import { createRepeats } from '../counter/queue.js';
import { sendForm } from '../counter/talk.js';
import { uuid7 } from '../counter/uuid7.js';

const GOOD = new Set(['seen', 'already']);
const TOLD = 8;

export function createDesk({ given, outbox, view, sending }) {
  const { words } = given;
  const repeats = createRepeats();
  const undoable = []; // ids of this page's scans, the last one last
  const no = (say, instead, more = {}) => view.answer({ outcome: 'no', say, instead, ...more });

  async function scan({ text, at }) {
    const code = parse(text);
    if (!code.ok && code.why === 'wrong_check') return no(words.misread, words.again, { tag: text.trim().slice(0, 40) });
    if (code.ok && code.prefix === given.counter) return code.number === given.undo ? undo() : no(words.no_such_tag, words.no_such_tag_how);
    if (repeats.isRepeat(code.ok ? code.text : text.trim(), at, false)) return undefined;
    const row = { id: uuid7(at), text: text.trim(), at: new Date(at).toISOString() };
    try {
      outbox.keep(row);
    } catch {
      return no(words.full, words.full_how, { why: [words.full_why] });
    }
    undoable.push(row.id);
    if (desk.hurried()) return undefined;
    return tell(row, await sending.send());
  }

  function tell(row, { answers, why }) {
    if (!answers.has(row.id) && why === 'refused') return no(words.refused, words.refused_how, { tag: row.text });
    if (!answers.has(row.id)) return view.answer({ outcome: 'note', say: words.kept, tag: row.text, why: [words.kept_why] });
    return view.answer(answers.size === 1 ? answers.get(row.id) : summed([...answers.values()]));
  }

  // Many at once: how many are written down, and each that somebody must look at.
  function summed(answers) {
    if (answers.length === 1) return answers[0];
    const written = answers.filter(({ what }) => GOOD.has(what));
    const wanting = answers.filter(({ outcome, what }) => outcome === 'partial' || !GOOD.has(what));
    const say = fill(words.sent, { count: written.length });
    if (wanting.length === 0) return { outcome: 'yes', say };
    const why = wanting.slice(0, TOLD).map((each) => fill(words.told, { tag: each.tag, say: each.say }));
    return { outcome: 'partial', say, why: wanting.length > TOLD ? [...why, '…'] : why, instead: words.put_aside };
  }

  async function undo() {
    const id = undoable.at(-1);
    if (!id) return no(words.nothing_to_undo, '', { why: [words.nothing_to_undo_why] });
    if (outbox.has(id)) await sending.send();
    const reply = outbox.has(id) ? {} : await sendForm(given.urls.unscan, { id });
    if (!reply.data) return no(words.no_line, words.no_line_how);
    undoable.pop();
    if (!reply.data.done) return no(words.nothing_to_undo, '', { why: [reply.data.say] });
    return view.answer({ outcome: 'yes', say: words.undone, tag: reply.data.tag });
  }

  const desk = {
    hurried: () => false,
    summed,
    work: (job) => ({ scan, undo })[job.kind](job),
    // A fault of our own: said, never swallowed, and the next scan goes on.
    fault(error) {
      console.error(error);
      no(words.fault, words.fault_how);
    },
  };
  return desk;
}
