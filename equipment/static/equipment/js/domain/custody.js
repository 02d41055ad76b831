// What speaks against a change of custody: equipment/domain/custody.py.

import { isOut } from './values.js';

/** One word for who holds an item: `picker:12`, `crew:CW0003X`, or null. */
export function holder(picker, crew) {
  if (picker !== null && picker !== undefined) return `picker:${picker}`;
  return crew ? `crew:${crew}` : null;
}

/** Codes that contradict handing the item out at `store`; `from` is the holder that gives it away. */
export function againstHandingOut(state, store, from) {
  if (state.place === 'gone') return ['written_off'];
  if (state.place === 'missing') return ['missing'];
  if (isOut(state)) return from && from === holder(state.picker, state.crew) ? [] : ['already_out'];
  if (from) return ['not_out'];
  return state.store === store ? [] : ['other_store'];
}
