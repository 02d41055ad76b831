// A crew's time in its blocks: equipment/domain/visits.py.

import { HOUR } from './time.js';

export const MOVED = 'moved';
// Crews go home at night, and not every supervisor says so: next day's arrival ends no visit of the day before.
export const LONGEST_UNTOLD = 12 * HOUR;

/** Whether the last visit still goes on at `at`, as far as anybody told. */
export function isOpen(state, at) {
  const last = state.visits.at(-1);
  return last !== undefined && last.until === null && at < last.at + LONGEST_UNTOLD;
}

/** The open visit, if there is one, ends at `at`, never before it began. */
export function end(state, at, cause) {
  const last = state.visits.at(-1);
  if (last === undefined || last.until !== null) return state;
  const told = cause === MOVED ? Math.min(at, last.at + LONGEST_UNTOLD) : at;
  return { ...state, visits: [...state.visits.slice(0, -1), { ...last, until: Math.max(told, last.at), cause }] };
}
