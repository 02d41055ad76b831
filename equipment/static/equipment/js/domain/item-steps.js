// What each verb does to an item: the steps of equipment/domain/verbs/, verb by verb.

import { againstHandingOut } from './custody.js';
import * as faults from './faults.js';
import { letGo, placed, takenUp } from './stints.js';
import { contradicted, isOut } from './values.js';

// A void dip falls back on the one before it; four of a method are more than one bath can void. One that cleared a flag
// is kept as long as the flag.
const KEPT = 4;

// Whatever is written of an item that left the book only contradicts.
const ofKnown = (step) => (state, entry) =>
  state.place === 'gone' ? contradicted(state, 'written_off', entry.id) : step(state, entry);

// And what takes it from somebody contradicts where nobody had it.
const notOut = (state, entry) =>
  isOut(state) || state.place === 'missing' ? state : contradicted(state, 'not_out', entry.id);

function registered(state, { id, happened_at: at, detail }) {
  if (state.registered) return contradicted(state, 'registered_twice', id);
  const known = { ...state, registered: true, registered_at: at, tag: state.tag || detail.tag || '', kind: detail.kind };
  if (state.since !== null) return known.store ? known : { ...known, store: detail.store };
  return placed(known, at, { place: 'store', store: detail.store });
}

function packed(state, { id, detail }) {
  const against = isOut(state) ? 'already_out' : { missing: 'missing', gone: 'written_off' }[state.place];
  return { ...(against ? contradicted(state, against, id) : state), set: detail.set };
}

function handedOut(before, entry) {
  const { picker, crew, block, happened_at: at, detail } = entry;
  const codes = againstHandingOut(before, entry.store, detail.from);
  if ((detail.verdict ?? []).includes('picker_left')) codes.push('picker_left');
  const state = codes.reduce((known, code) => contradicted(known, code, entry.id), before);
  const held = placed(state, at, { place: picker === null ? 'crew' : 'picker', picker, crew, block });
  return { ...(picker !== null && crew !== null ? takenUp(held, picker, crew, at) : held), set: null };
}

function returned(state, entry) {
  const at = entry.happened_at;
  const back = placed(notOut(state, entry), at, { place: 'store', store: entry.store });
  return entry.detail.wet ? faults.found(back, faults.WET, entry.id, at) : back;
}

const stowed = (state, entry) => ({
  ...letGo(notOut(state, entry), entry.happened_at),
  place: 'orchard', crew: entry.crew || state.crew, block: entry.block, since: entry.happened_at,
});

function missed(state, { happened_at: at }) {
  if (state.place === 'missing') return state;
  return { ...letGo(state, at), place: 'missing', since: at, set: null };
}

function found(state, { happened_at: at, crew, store }) {
  if (state.place !== 'missing') return state;
  return crew ? placed(state, at, { place: 'crew', crew }) : placed(state, at, { place: 'store', store });
}

function moved(state, { id, happened_at: at, detail }) {
  const known = isOut(state) ? contradicted(state, 'already_out', id) : state;
  return placed(known, at, { place: 'store', store: detail.to });
}

const writtenOff = (state, { happened_at: at }) => ({ ...letGo(state, at), place: 'gone', since: at, set: null });

const faultFound = (state, { id, happened_at: at, detail }) => faults.found(state, detail.fault, id, at);

function mended(state, { id, by, happened_at: at, detail }) {
  if (faults.named(state, detail.fault) === null) return contradicted(state, 'not_faulty', id);
  return faults.mended(state, detail.fault, by, at, detail.release ?? '');
}

function released(state, { id, by, detail }) {
  const known = faults.named(state, detail.fault);
  if (known === null) return contradicted(state, 'not_faulty', id);
  if (known.mended_at === null) return contradicted(state, 'not_mended', id);
  if (known.release === 'second' && by === known.mended_by) return contradicted(state, 'own_mend', id);
  return faults.released(state, known.fault);
}

function inspected(before, { id, happened_at: at, detail }) {
  const dates = Object.values(detail.expiries ?? {});
  const state = {
    ...before,
    inspected: { ...before.inspected, [detail.checklist]: at },
    expires_on: dates.length ? dates.sort()[0] : before.expires_on,
  };
  const opened = new Set(Object.values(detail.failed ?? {}).filter(Boolean));
  return [...opened].sort().reduce((known, fault) => faults.found(known, fault, id, at), state);
}

/** Why the item itself says that this cleaning does not count, '' where it does. */
export function fails(state, { detail }) {
  if (detail.wrong) return detail.wrong;
  if (detail.needs_seconds && (detail.seconds ?? 0) < detail.needs_seconds) return 'too_short';
  return detail.method === 'sterilise' && state.dirty_at !== null ? 'dirt_first' : '';
}

function cleaned(state, entry) {
  if (fails(state, entry)) return state;
  const { id, bath, happened_at: at, detail: { method, kills = [] } } = entry;
  const inHand = state.place === 'picker' ? state.picker : null;
  const done = { entry: id, at, method, bath, picker: inHand, other_at: null, ends: [] };
  const clearing = state.flags.flatMap((flag) => flag.cleared);
  const old = state.cleanings.filter((each) => each.method === method).slice(0, -KEPT + 1);
  const dropped = old.filter((each) => !clearing.includes(each.entry));
  const cleared = (flag) => ({ ...flag, cleared: [...flag.cleared.slice(-KEPT + 1), id] });
  return {
    ...state,
    cleanings: [...state.cleanings.filter((each) => !dropped.includes(each)), done],
    dirty_at: method === 'wash' ? null : state.dirty_at,
    wet_at: method === 'dry' ? null : state.wet_at,
    flags: state.flags.map((flag) => (kills.includes(flag.disease) ? cleared(flag) : flag)),
  };
}

function flagged(state, { id, happened_at: at, detail }) {
  const flag = { disease: detail.disease, entry: id, at, case: detail.case ?? '', cleared: [] };
  const rest = state.flags.filter((known) => known.disease !== flag.disease);
  return { ...faults.ended(state, 'flag', at), flags: [...rest, flag] };
}

const OF_KNOWN = {
  returned, stowed, missed, found, moved, mended, released, inspected, cleaned, flagged, written_off: writtenOff,
  fault_found: faultFound,
};

export const ITEM_STEPS = {
  registered, packed, handed_out: handedOut,
  retagged: (state, { detail }) => ({ ...state, tag: detail.tag }),
  // Facts that change nothing.
  seen: (state) => state, heard: (state) => state,
  ...Object.fromEntries(Object.entries(OF_KNOWN).map(([verb, step]) => [verb, ofKnown(step)])),
};
