// What waits goes to the book, all of it in one request; each scan leaves the outbox on its own answer. While the line is
// cut it is tried again by itself.

import { sendJson } from '../counter/talk.js';

const AGAIN = 5_000;
const MOST = 200;

// `changed()` after each try; `late(answers)` for what was answered without anybody waiting for it.
export function createSending({ given, outbox, changed, late }) {
  let under = null;
  let timer = null;
  let failed = '';

  // Everything that waits: {answers} by id, {why} where it could not be sent.
  async function send() {
    while (under) await under;
    under = once();
    try {
      return await under;
    } finally {
      under = null;
    }
  }

  async function once() {
    const answers = new Map();
    for (let scans = outbox.mine().slice(0, MOST); scans.length > 0; scans = outbox.mine().slice(0, MOST)) {
      const reply = await sendJson(given.urls.scans, { sent_at: new Date().toISOString(), scans });
      if (!reply.data) return stuck(reply.why, answers);
      for (const answer of reply.data.answers) {
        outbox.drop(answer.id);
        answers.set(answer.id, answer);
      }
      if (reply.data.answers.length === 0) break;
    }
    failed = '';
    clearTimeout(timer);
    changed();
    return { answers };
  }

  function stuck(why, answers) {
    failed = why;
    clearTimeout(timer);
    timer = setTimeout(flush, AGAIN);
    changed();
    return { answers, why };
  }

  async function flush() {
    if (outbox.mine().length === 0) return;
    const { answers } = await send();
    if (answers.size > 0) late([...answers.values()]);
  }

  return { send, flush, why: () => failed };
}
