// Photos: made small, named by the SHA-256 of their bytes, kept until the book has them.
//
// A row: {sha256, type, bytes, user, status, tries}. `status`: 'waiting', or 'parked' where the book does not take it.

import { asked } from './db.js';

const LONGEST_SIDE = 1600;
const QUALITY = 0.8;
const ENOUGH = 300_000; // bytes: what is smaller stays as it is
const PATIENCE = 60_000;
const MOST_TRIES = 3;

/** @returns {Promise<{sha256: string, type: string, bytes: ArrayBuffer}>} a Blob as `box.record` takes it in `photos`.
 *  Rejects with {why: 'insecure'} where the page has no secure context: no digest can be made there. */
export async function preparePhoto(blob) {
  if (!globalThis.crypto?.subtle) throw Object.assign(new Error('no secure context'), { why: 'insecure' });
  const small = blob.size > ENOUGH ? await shrunk(blob) : blob;
  const bytes = await small.arrayBuffer();
  const digest = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  const sha256 = Array.from(digest, (byte) => byte.toString(16).padStart(2, '0')).join('');
  return { sha256, type: small.type || 'image/jpeg', bytes };
}

// Upright and without a word on where it was taken, as it is drawn anew. What cannot be drawn here goes as it is.
async function shrunk(blob) {
  try {
    const picture = await createImageBitmap(blob);
    const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
    const canvas = new OffscreenCanvas(Math.round(picture.width * scale), Math.round(picture.height * scale));
    canvas.getContext('2d').drawImage(picture, 0, 0, canvas.width, canvas.height);
    picture.close();
    const small = await canvas.convertToBlob({ type: 'image/jpeg', quality: QUALITY });
    return small.size < blob.size ? small : blob;
  } catch {
    return blob;
  }
}

export function createPictures(db, { user, urls }) {
  const all = () => db.run(['photos'], 'readonly', (t) => asked(t.objectStore('photos').getAll()));
  const whose = (t) => t.objectStore('photos').index('whose');
  const waiting = () => db.run(['photos'], 'readonly', (t) => asked(whose(t).getAll([user.id, 'waiting'])));
  // How many wait, without reading them: they are large.
  const count = () => db.run(['photos'], 'readonly', (t) => asked(whose(t).count([user.id, 'waiting'])));

  const change = (work) => db.run(['photos'], 'readwrite', (t) => {
    work(t.objectStore('photos'));
  });

  // Send what waits, by `put(url, options)`, which answers as line.js does. One that is not taken stops no other.
  async function send(put) {
    let sent = 0;
    let again = false;
    for (const row of await waiting()) {
      const body = new Blob([row.bytes], { type: row.type });
      const reply = await put(`${urls.photos}${row.sha256}/`, { method: 'PUT', body, patience: PATIENCE });
      if (reply.data?.sha256 === row.sha256 || reply.code === 'erased') {
        await change((photos) => photos.delete(row.sha256));
        sent += 1;
      } else if (reply.why === 'unread' || reply.why === 'too_large') {
        again = (await refused(row, reply)) || again;
      } else {
        return reply.data ? { why: 'unreachable', sent } : { ...reply, sent };
      }
    }
    return { why: again ? 'unreachable' : 'on', sent };
  }

  // What arrived damaged is sent again a few times; what is no picture or too large, never. Whether it is.
  async function refused(row, { code, say = '' }) {
    const tries = row.tries + 1;
    const again = code === 'malformed' && tries < MOST_TRIES;
    await change((photos) => photos.put({ ...row, tries, status: again ? 'waiting' : 'parked', say }));
    return again;
  }

  return { all, count, send };
}
