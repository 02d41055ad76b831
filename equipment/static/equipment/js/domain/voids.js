// Which cleanings of an item do not count by what their bath says now: the part of equipment/models/deriving.py that a
// phone can work out. What the sheet said of baths that it does not have stands.

import { againstDip, verdicts } from './bath.js';
import { own } from './values.js';

/** What the baths say of this phone's own dips: entry -> why, null where it counts. `baths` are {state, dipped, own}. */
export const ownVerdicts = (baths) =>
  new Map(baths.flatMap(({ state, dipped, own: dips }) => [...verdicts(state, dips, dipped)]));

/**
 * Of the cleanings that `row` (an item) still tells of: entry -> why it does not count. `baths` by number, `mine` as
 * above. How many were in the bath before a dip of the sheet is not known here, only whether that made it one too many.
 */
export function voided(row, baths, mine) {
  const found = {};
  const told = row.state.flags.flatMap((flag) => flag.cleared);
  for (const entry of told) if (own(row.void, entry)) found[entry] = row.void[entry];
  for (const { entry, at, bath } of row.state.cleanings) {
    const before = own(row.void, entry) ?? null;
    const known = bath === null ? undefined : baths.get(bath);
    let why = before;
    if (mine.has(entry)) why = mine.get(entry);
    else if (known && !known.unknown) why = againstDip(known.state, at, before === 'spent' ? Infinity : 0);
    if (why) found[entry] = why;
    else delete found[entry];
  }
  return found;
}
