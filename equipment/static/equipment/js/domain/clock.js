// Until when a cleaning holds, and what ends it: equipment/domain/clock.py, which explains it. Times in microseconds,
// spans [from, until), open where `until` is null.

import { HOUR } from './time.js';

// In this order where several fall on the same moment.
export const CAUSES = ['never', 'void', 'dirty', 'wet', 'flag', 'block', 'picker', 'hours', 'rest'];

const span = (hours) => Math.round(hours * HOUR);

/**
 * When the cleaning of `rule` falls due: {method, at, cause, since, holds}; `at` null for never as things stand.
 * `visits` by crew; `isVoid(entry)`: that cleaning does not count; `ends`: the causes found on the item that end it.
 */
export function due(state, rule, visits, isVoid, ends) {
  const as = (at, cause, since) => ({ method: rule.method, at, cause, since, holds: rule.holds });
  const cleaning = lastCounting(state, rule.method, isVoid);
  if (cleaning === null && onlyBetweenHolders(rule)) {
    const second = state.stints.find((stint) => stint.picker !== state.stints[0].picker);
    return second ? as(second.at, 'picker', null) : as(null, null, null);
  }
  if (cleaning === null) {
    const done = state.cleanings.filter((each) => each.method === rule.method).at(-1);
    return done ? as(done.at, 'void', null) : as(state.registered_at, 'never', null);
  }
  const first = earliest([...causes(state, rule, visits, cleaning, ends)]);
  return first ? as(first[0], first[1], cleaning.at) : as(null, null, cleaning.at);
}

function earliest(causesFound) {
  let best = null;
  for (const [at, cause] of causesFound) {
    const sooner = best === null || at < best[0];
    if (sooner || (at === best[0] && CAUSES.indexOf(cause) < CAUSES.indexOf(best[1]))) best = [at, cause];
  }
  return best;
}

// What is washed because another is to wear it: new from the shop it is fit for its first holder.
const onlyBetweenHolders = (rule) =>
  rule.other_picker && !rule.other_block && rule.hours_in_use === null && rule.shelf_hours === null;

/** The last cleaning by `method` that is not void, or null. */
export const lastCounting = (state, method, isVoid) =>
  state.cleanings.findLast((each) => each.method === method && !isVoid(each.entry)) ?? null;

function* causes(state, rule, visits, cleaning, ends) {
  for (const [cause, at] of cleaning.ends) if (ends.has(cause)) yield [at, cause];
  if (rule.other_picker && cleaning.other_at !== null) yield [cleaning.other_at, 'picker'];
  if (rule.hours_in_use === null && rule.shelf_hours === null && !rule.other_block) return;
  const uses = [...usesSince(state.stints, visits, cleaning.at)];
  const movedAt = rule.other_block ? otherBlock(uses) : null;
  if (movedAt !== null) yield [movedAt, 'block'];
  const upAt = rule.hours_in_use === null ? null : reached(uses, span(rule.hours_in_use));
  if (upAt !== null) yield [upAt, 'hours'];
  const oldAt = rule.shelf_hours === null ? null : reached([...rests(uses, cleaning.at)], span(rule.shelf_hours));
  if (oldAt !== null) yield [oldAt, 'rest'];
}

/** The spans of use from `since` on, in order: {at, until, block}. */
export function* usesSince(stints, visits, since) {
  for (const stint of stints) {
    if (stint.until !== null && stint.until <= since) continue;
    const known = (visits[stint.crew] ?? []).map((visit) => within(visit, stint)).filter(lasts);
    for (const use of known.length ? known : [{ at: stint.at, until: stint.until, block: null }]) {
      if (use.until === null || use.until > since) yield { ...use, at: Math.max(use.at, since) };
    }
  }
}

const lasts = (use) => use.until === null || use.at < use.until;

function within(visit, stint) {
  const known = [visit.until, stint.until].filter((each) => each !== null);
  return { at: Math.max(visit.at, stint.at), until: known.length ? Math.min(...known) : null, block: visit.block };
}

function otherBlock(uses) {
  const inBlocks = uses.filter((use) => use.block !== null);
  return inBlocks.find((use) => use.block !== inBlocks[0].block)?.at ?? null;
}

// What lies between the spans of use, from `since` on.
function* rests(uses, since) {
  let at = since;
  for (const use of uses) {
    if (use.at > at) yield { at, until: use.at };
    at = use.until;
    if (at === null) return;
  }
  yield { at, until: null };
}

// When the spans together last for `limit`; null where they never do.
function reached(spans, limit) {
  let left = limit;
  for (const each of spans) {
    if (each.until === null || each.until - each.at >= left) return each.at + left;
    left -= each.until - each.at;
  }
  return null;
}
