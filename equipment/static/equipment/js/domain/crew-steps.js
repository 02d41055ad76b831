// What each verb does to a crew: the steps of equipment/domain/verbs/, verb by verb.

import { HOUR } from './time.js';
import { contradicted, own } from './values.js';
import { MOVED, end, isOpen } from './visits.js';

// A waiver counts for the farm's day it was given on; older ones need not be carried along.
const KEPT = 48 * HOUR;

function joined(state, { picker, happened_at: at }) {
  if (picker === null || own(state.members, picker) !== undefined) return state;
  return { ...state, members: { ...state.members, [picker]: at } };
}

function parted(state, { id, picker }) {
  if (own(state.members, picker) === undefined) return contradicted(state, 'not_in_crew', id);
  const { [picker]: gone, ...members } = state.members;
  return { ...state, members };
}

function arrived(state, { id, block: named, happened_at: at, detail }) {
  const block = named || detail.block;
  if (isOpen(state, at) && state.visits.at(-1).block === block) return state;
  const ended = end(state, at, MOVED);
  const since = Math.max(at, ended.visits.at(-1)?.until ?? at);
  return { ...ended, visits: [...ended.visits, { entry: id, block, at: since, until: null, cause: '' }] };
}

function waived(state, { picker, happened_at: at, detail }) {
  if (picker === null) return state;
  const recent = state.waived.filter(([, , given]) => at - given < KEPT);
  return { ...state, waived: [...recent, [picker, detail.kind, at]] };
}

function replanned(state, { id, block, happened_at: at, detail }) {
  const { date, part, clipped } = detail;
  const plan = { entry: id, at, date, part: part || 'day', clipped, block: block || detail.block || null };
  return { ...state, replanned: [...(state.replanned ?? []), plan] };
}

export const CREW_STEPS = {
  joined, parted, arrived, waived, replanned,
  left: (state, { happened_at: at }) => end(state, at, 'left'),
  stopped: (state, { happened_at: at, detail }) => end(state, at, detail.cause),
  morning_checked: (state, { happened_at: at }) => ({ ...state, checked_at: at }),
  taken_over: (state, { by }) => ({ ...state, led_by: by }),
  trained: (state) => state,
};
