// Who holds this phone, for which store, and with what number it writes. Asked whenever there is a line, and remembered
// for when there is none: then of a name only its initials. The names of pickers are never part of it.

import { uuid7 } from '../counter/uuid7.js';

const KEY = 'orchard-here';
const PATIENCE = 6000;

function remembered(storage) {
  try {
    return JSON.parse(storage.getItem(KEY));
  } catch {
    return null;
  }
}

// A phone that nobody enrolled writes all the same, under a number of its own for each person.
function ownDevice(storage, user) {
  const key = `orchard-device:${user}`;
  const known = storage.getItem(key) ?? uuid7();
  try {
    storage.setItem(key, known);
  } catch {
    // Full: a new number each time, which the book takes as well.
  }
  return known;
}

async function ask(url, fetch) {
  try {
    const answer = await fetch(url, {
      headers: { Accept: 'application/json' }, redirect: 'manual', cache: 'no-store', signal: AbortSignal.timeout(PATIENCE),
    });
    if (answer.type === 'opaqueredirect' || answer.status === 401 || answer.status === 403) return { line: 'signed_out' };
    return answer.ok ? { line: 'on', told: await answer.json() } : { line: 'unreachable' };
  } catch {
    return { line: 'unreachable' };
  }
}

const known = (told, storage) => told?.user && { ...told, enrolled: Boolean(told.device), device: told.device?.id ?? ownDevice(storage, told.user.id) };

/** Whoever was here last, as this phone remembers; null where nobody ever was. The page opens with it at once. */
export const whoWasHere = (storage = localStorage) => known(remembered(storage), storage) || null;

/** What may be written down of a person. */
export const withoutName = ({ id, initials }) => ({ id, initials });

/** What they are called here and now: by name only where the line has told it since the page was opened. */
export const called = ({ id, name, initials }) => name || initials || String(id);

/** Whether it is another person, or another phone, than the page was opened for: then it is to be opened anew. */
export const isAnother = (one, other) => one.user.id !== other.user.id || one.device !== other.device || one.store !== other.store;

/**
 * @returns {Promise<{line: 'on'|'unreachable'|'signed_out', here: object|null}>} `here` = {user, store, device, enrolled,
 * revoked, crews, build}; null where nobody was ever signed in on this phone.
 */
export async function whoIsHere(url, { storage = localStorage, fetch = globalThis.fetch.bind(globalThis) } = {}) {
  const { line, told } = await ask(url, fetch);
  if (told) {
    const { csrf, user, ...kept } = told;
    try {
      storage.setItem(KEY, JSON.stringify({ ...kept, user: user && withoutName(user) }));
    } catch {
      // Full: the next start without a line asks again.
    }
  }
  return { line, here: known(told ?? remembered(storage), storage) || null };
}
