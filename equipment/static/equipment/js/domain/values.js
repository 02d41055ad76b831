// The states of the book as equipment/domain/values.py has them, under the same names. On the sheet their times are text;
// inside they are microseconds. A state is never edited: a step returns a new one.

import { iso, micros } from './time.js';

export const OUT = Object.freeze(['picker', 'crew', 'orchard']);

export const ITEM = Object.freeze({
  discrepancies: [], settled: [], place: 'gone', store: null, picker: null, crew: null, block: null, since: null,
  set: null, tag: '', kind: '', registered: false, registered_at: null, wet_at: null, dirty_at: null, faults: [],
  cleanings: [], stints: [], flags: [], inspected: {}, expires_on: null,
});
export const CREW = Object.freeze({
  discrepancies: [], settled: [], members: {}, waived: [], visits: [], checked_at: null, led_by: null, replanned: [],
});
export const BATH = Object.freeze({
  discrepancies: [], settled: [], recipe: '', agent: '', store: null, litres: 0, ppm: null, mixed_at: null,
  life_minutes: null, capacity: null, flaws: [], low_ppm: null, high_ppm: null, tests: [], emptied_at: null,
});

export const isOut = (state) => OUT.includes(state.place);

export const contradicted = (state, code, entry) => ({
  ...state, discrepancies: [...state.discrepancies, { code, entry }],
});

/** What `map` itself has under `name`, else undefined: a code may be called like something every object has. */
export const own = (map, name) => (map && Object.hasOwn(map, name) ? map[name] : undefined);

const TIMES = new Set([
  'at', 'until', 'since', 'registered_at', 'wet_at', 'dirty_at', 'mended_at', 'other_at', 'checked_at', 'mixed_at',
  'emptied_at',
]);
const BY_NAME = new Set(['inspected', 'members']);
const LAST_OF_EACH = new Set(['ends', 'waived']);

function turned(value, turn) {
  if (Array.isArray(value)) return value.map((each) => turned(each, turn));
  if (value === null || typeof value !== 'object') return value;
  return Object.fromEntries(Object.entries(value).map(([name, inner]) => [name, field(name, inner, turn)]));
}

function field(name, value, turn) {
  if (TIMES.has(name)) return turn(value);
  if (BY_NAME.has(name)) return Object.fromEntries(Object.entries(value).map(([key, at]) => [key, turn(at)]));
  if (LAST_OF_EACH.has(name)) return value.map((each) => [...each.slice(0, -1), turn(each.at(-1))]);
  return turned(value, turn);
}

const met = new WeakMap();
const came = new WeakMap();

/** A state (or a list of visits) of the sheet, with its times in microseconds. What was met before is remembered. */
export function inside(json) {
  if (met.has(json)) return met.get(json);
  const state = turned(json, micros);
  met.set(json, state);
  came.set(state, json);
  return state;
}

/** The other way round. */
export function outside(state) {
  if (came.has(state)) return came.get(state);
  const json = turned(state, iso);
  met.set(json, state);
  return json;
}
