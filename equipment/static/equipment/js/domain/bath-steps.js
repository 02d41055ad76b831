// What each verb does to a dip bath: the steps of equipment/domain/verbs/, verb by verb.

import { contradicted } from './values.js';

function mixed(state, { id, store, happened_at: at, detail }) {
  if (state.mixed_at !== null) return contradicted(state, 'mixed_twice', id);
  return {
    ...state,
    mixed_at: at,
    store,
    recipe: detail.recipe,
    litres: Number(detail.litres),
    agent: detail.agent ?? '',
    flaws: detail.flaws ?? [],
    ppm: detail.ppm ?? null,
    life_minutes: detail.life_minutes ?? null,
    capacity: detail.capacity ?? null,
    low_ppm: detail.low_ppm ?? null,
    high_ppm: detail.high_ppm ?? null,
  };
}

function tested(state, { id, happened_at: at, detail }) {
  const ppm = Number(detail.ppm) * Number(detail.diluted ?? 1);
  return { ...state, tests: [...state.tests, { entry: id, at, ppm }] };
}

const emptied = (state, { happened_at: at }) => ({ ...state, emptied_at: Math.min(state.emptied_at ?? at, at) });

export const BATH_STEPS = { mixed, tested, emptied };
