// Entries in, state out. A phone folds what it recorded itself, in the order of its own count, onto what the sheet says.

import { BATH_STEPS } from './bath-steps.js';
import { CREW_STEPS } from './crew-steps.js';
import { ITEM_STEPS } from './item-steps.js';

const settled = (state, { detail }) => ({ ...state, settled: [...new Set([...state.settled, detail.key])].sort() });

export const STEPS = {
  item: { ...ITEM_STEPS, settled }, crew: { ...CREW_STEPS, settled }, bath: { ...BATH_STEPS, settled },
};

/** `state` (times in microseconds) with `entry` as well; a verb that this page does not know yet changes nothing. */
export function step(family, state, entry) {
  const known = Object.hasOwn(STEPS[family], entry.verb) ? STEPS[family][entry.verb] : null;
  return known ? known(state, entry) : state;
}
