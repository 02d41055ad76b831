// View models of sterilising: the store's baths, and which pieces may go in. Pure.

import { moment, short } from './lines.js';

// The baths that are not emptied, the last mixed first: {bath, recipe, name, until (ms or null), left (pieces or null),
// against (code or null)}.
export function bathLines(day, at) {
  return day
    .sheet()
    .baths.filter(({ state }) => state.mixed_at !== null && state.emptied_at === null)
    .map((bath) => {
      const recipe = day.recipe(bath.state.recipe);
      const verdict = day.rules.bathVerdict(day.sheet(), bath.bath, at);
      return {
        bath: bath.bath,
        recipe,
        name: recipe?.name ?? bath.state.recipe,
        litres: bath.state.litres,
        mixed: moment(bath.state.mixed_at),
        until: verdict.good_until === null ? null : moment(verdict.good_until),
        left: verdict.left,
        against: verdict.why,
      };
    })
    .filter((bath) => bath.recipe?.method === 'sterilise')
    .sort((one, other) => other.mixed - one.mixed);
}

// The pieces that a recipe is for: those of the pickers by number, then those of the crew's box.
export function dippable(day, recipe, at) {
  const due = day.due(at);
  const lines = day.sheet().items.filter((item) => recipe.kinds.includes(item.kind) && ['picker', 'crew'].includes(item.state.place)).map((item) => {
    const person = item.state.place === 'picker' ? day.person(item.state.picker) : null;
    const at1 = (due.get(item.tag) ?? []).find((each) => each.method === 'sterilise' && each.at !== null)?.at ?? null;
    return { tag: item.tag, short: short(item.tag), about: day.kind(item.kind).name, number: person?.number ?? '', badge: person?.badge ?? null, due: at1 !== null && moment(at1) <= at };
  });
  return lines.sort((one, other) => (one.number === '') - (other.number === '') || one.number.localeCompare(other.number, 'en', { numeric: true }) || one.tag.localeCompare(other.tag));
}

// Whole crew, its two halves by number, what is due: {name, tags}; those of nobody are left out.
export function presets(pieces, absent) {
  const here = pieces.filter((piece) => piece.badge && !absent.includes(piece.badge));
  const people = [...new Set(here.map((piece) => piece.badge))];
  const half = new Set(people.slice(0, Math.ceil(people.length / 2)));
  const tags = (those) => those.map((piece) => piece.tag);
  return [
    { name: 'whole', tags: tags(here) },
    { name: 'first_half', tags: tags(here.filter((piece) => half.has(piece.badge))) },
    { name: 'second_half', tags: tags(here.filter((piece) => !half.has(piece.badge))) },
    { name: 'due', tags: tags(pieces.filter((piece) => piece.due)) },
  ].filter((each) => each.tags.length > 0);
}
