// Who had the item, and when: equipment/domain/stints.py.

export const KEPT = 60;

/** Nobody has the item from `at` on. */
export function letGo(state, at) {
  const last = state.stints.at(-1);
  if (last === undefined || last.until !== null) return state;
  return { ...state, stints: [...state.stints.slice(0, -1), { ...last, until: Math.max(at, last.at) }] };
}

/** `picker` of `crew` has the item from `at` on; two never have it at once. */
export function takenUp(before, picker, crew, at) {
  const state = letGo(before, at);
  const since = Math.max(at, state.stints.at(-1)?.until ?? at);
  return {
    ...state,
    stints: [...state.stints, { picker, crew, at: since, until: null }].slice(-KEPT),
    cleanings: state.cleanings.map((cleaning) => used(cleaning, picker, at)),
  };
}

function used(cleaning, picker, at) {
  if (cleaning.picker === null) return { ...cleaning, picker };
  if (cleaning.picker === picker || cleaning.other_at !== null) return cleaning;
  return { ...cleaning, other_at: at };
}

/** `state` in a new place since `at`: no holder and no block unless `changes` says so. */
export const placed = (state, at, changes) => ({
  ...letGo(state, at), picker: null, crew: null, block: null, since: at, ...changes,
});
