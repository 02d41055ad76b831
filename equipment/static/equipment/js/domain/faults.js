// Steps on an item's open faults: equipment/domain/faults.py.

// No faults to mend: a cleaning ends them.
export const DIRTY = 'dirty';
export const WET = 'wet';

export const named = (state, fault) => state.faults.find((known) => known.fault === fault) ?? null;

const without = (state, fault) => state.faults.filter((known) => known.fault !== fault);

/** One that is open already stays as it was first found, unless it was mended since. */
export function found(state, fault, entry, at) {
  if (fault === DIRTY) return { ...ended(state, DIRTY, at), dirty_at: state.dirty_at ?? at };
  if (fault === WET) return { ...ended(state, WET, at), wet_at: state.wet_at ?? at };
  const known = named(state, fault);
  if (known !== null && known.mended_at === null) return state;
  const one = { fault, entry, at, mended_at: null, mended_by: null, release: '' };
  return { ...state, faults: [...without(state, fault), one] };
}

/** Done with, or waiting for `release`; the fault must be open. */
export function mended(state, fault, by, at, release) {
  const rest = without(state, fault);
  const known = named(state, fault);
  if (!release || known === null) return { ...state, faults: rest };
  return { ...state, faults: [...rest, { ...known, mended_at: at, mended_by: by, release }] };
}

export const released = (state, fault) => ({ ...state, faults: without(state, fault) });

/** Every cleaning so far holds no longer, because of `cause` (dirty, wet, flag). */
export const ended = (state, cause, at) => ({
  ...state,
  cleanings: state.cleanings.map((cleaning) =>
    cleaning.ends.some(([known]) => known === cause) ? cleaning : { ...cleaning, ends: [...cleaning.ends, [cause, at]] },
  ),
});
