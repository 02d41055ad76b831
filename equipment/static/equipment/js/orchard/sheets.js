// The crew sheets that this phone carries into the orchard: fetched in the morning, own crews first, kept as they came.
//
// A row: {code, sheet, etag, fetchedAt (ms), mark}. `mark` is the outbox's count when the asking began: all that the
// book had answered by then is in the sheet, and `box.since(mark)` is what is to be folded on it.

import { asked } from './db.js';
import { ask } from './line.js';

// `urls.sheet` has CODE where the crew's code goes.
export function createSheets({ db, urls, fetch }) {
  const all = () => db.run(['sheets'], 'readonly', (t) => asked(t.objectStore('sheets').getAll()));
  const read = async (code) => (await db.run(['sheets'], 'readonly', (t) => asked(t.objectStore('sheets').get(code)))) ?? null;
  const put = (row) => db.run(['sheets'], 'readwrite', (t) => {
    t.objectStore('sheets').put(row);
  });
  const drop = (codes) => db.run(['sheets'], 'readwrite', (t) => {
    for (const code of codes) t.objectStore('sheets').delete(code);
  });
  const mark = async () => (await db.fact('batches')) ?? 0;

  async function refreshOne(code) {
    const known = await read(code);
    const now = { mark: await mark(), fetchedAt: Date.now() };
    const headers = known?.etag ? { 'If-None-Match': known.etag } : {};
    const reply = await ask(urls.sheet.replace('CODE', encodeURIComponent(code)), { headers, fetch });
    if (reply.why === 'same' && known) await put({ ...known, ...now });
    else if (reply.data?.v === 1) await put({ code, sheet: reply.data, etag: reply.etag, ...now });
    else if (reply.code === 'not_found') await drop([code]);
    return reply.data && reply.data.v !== 1 ? 'unreachable' : reply.why ?? 'new';
  }

  // Fetch the sheets of `crews` ([{code, own}]), own ones first, until the line fails. Resolves to
  // {why: 'on' or as in line.js, got: [codes that are new], same: [codes that are as they were]}. Once all are here,
  // sheets of crews that are not among them go.
  async function refresh(crews) {
    const got = [];
    const same = [];
    const inOrder = [...crews].sort((one, other) => Number(Boolean(other.own)) - Number(Boolean(one.own)));
    for (const { code } of inOrder) {
      const why = await refreshOne(code);
      if (why === 'new') got.push(code);
      else if (why === 'same') same.push(code);
      else if (why !== 'unread') return { why, got, same };
    }
    const wanted = new Set(crews.map(({ code }) => code));
    await drop((await all()).map(({ code }) => code).filter((code) => !wanted.has(code)));
    return { why: 'on', got, same };
  }

  return {
    refresh,
    read,
    all,
    fetchedAt: async (code) => (await read(code))?.fetchedAt ?? null,
    // What every sheet here holds: `box.forgetSent(await sheets.mark())` loses nothing that one of them lacks.
    async mark() {
      const marks = (await all()).map((row) => row.mark);
      return marks.length > 0 ? Math.min(...marks) : 0;
    },
  };
}
