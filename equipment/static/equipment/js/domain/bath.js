// The dip bath: until when it is good, and which dips in it count. equipment/domain/bath.py explains it. Sums and
// bookkeeping only: the label and the safety sheet come first, and local law.

import { MINUTE } from './time.js';

// Measuring a litre in a bucket is no better than this; a mixing that is weaker is too weak.
const MEASURING = 0.95;

/** When the bath is too old; null where it does not age, or was never mixed. */
export const goodUntil = (state) =>
  state.mixed_at === null || state.life_minutes === null ? null : state.mixed_at + state.life_minutes * MINUTE;

/** Why a dip at `at`, the `nth` item in this bath (from 1), does not count; null where it does. */
export function againstDip(state, at, nth) {
  if (state.mixed_at === null || at < state.mixed_at) return 'not_mixed';
  if (state.emptied_at !== null && at >= state.emptied_at) return 'emptied';
  const [before, after] = testsAround(state, at);
  if ([before, after].some((test) => test !== null && !passes(state, test))) return 'test_failed';
  const proven = before !== null && (state.low_ppm !== null || state.high_ppm !== null);
  const standing = state.flaws.find((flaw) => flaw !== 'too_weak' || !proven);
  if (standing) return standing;
  const until = goodUntil(state);
  if (until !== null && at >= until) return 'too_old';
  return state.capacity !== null && nth > state.capacity ? 'spent' : null;
}

/** Why the bath takes no further item at `at`, `dipped` being in it or done; null where it does. */
export const againstNow = (state, at, dipped) => againstDip(state, at, dipped + 1);

/** Whether the strength lies between the recipe's limits, both included. */
export const passes = (state, test) =>
  (state.low_ppm === null || test.ppm >= state.low_ppm) && (state.high_ppm === null || test.ppm <= state.high_ppm);

export const byTime = (one, other) =>
  one.at - other.at || (one.entry < other.entry ? -1 : one.entry > other.entry ? 1 : 0);

function testsAround(state, at) {
  const tests = [...state.tests].sort(byTime);
  return [tests.findLast((test) => test.at < at) ?? null, tests.find((test) => test.at >= at) ?? null];
}

/** What is wrong with a mixing from the start; see `flaws` in bath.py. */
export function flaws(recipe, ppm, ph, expired) {
  const found = [];
  if (recipe.target_ppm !== null && ppm !== null && ppm < recipe.target_ppm * MEASURING) found.push('too_weak');
  const { ph_low: low, ph_high: high } = recipe;
  if (low !== null && high !== null && (ph === null || ph < low || ph > high)) found.push('wrong_ph');
  if (expired) found.push('product_expired');
  return found;
}

/** Cleaning (by entry) -> why this bath says that it does not count, null where it does. `dips` are {at, entry}. */
export function verdicts(state, dips, before = 0) {
  const inOrder = [...dips].sort(byTime);
  return new Map(inOrder.map(({ at, entry }, place) => [entry, againstDip(state, at, before + place + 1)]));
}
