// The facts of the day that the server will seal into an entry, worked out here from the sheet's rules so that the phone
// folds the same line: equipment/domain/sealing.py. They are never sent.

import { flaws } from './bath.js';
import * as checklist from './checklist.js';
import { faultRule } from './condition.js';
import { own } from './values.js';

const PPM_IN_ONE_PER_CENT = 10_000;
export const MORNING = 'morning';

/**
 * `detail` with the words that the rules of the day add. `facts`: {rules, kind, bath (its state, null for none), day
 * ('2026-06-01'), strengths, judge(checklist, answers) -> failed points}.
 */
export function sealed(verb, detail, facts) {
  const seal = own(SEALS, verb);
  return seal ? { ...detail, ...seal(detail, facts), rules: facts.rules.version } : detail;
}

function mended(detail, { rules }) {
  const by = faultRule(rules, detail.fault).released_by;
  return by === 'mender' ? {} : { release: by };
}

const withFailed = (failed) => (Object.keys(failed).length ? { failed } : {});

const inspected = (detail, facts) => withFailed(facts.judge(detail.checklist, detail.answers));

const morningChecked = (detail, facts) => ({
  checklist: MORNING, ...withFailed(facts.judge(MORNING, detail.answers)),
});

function cleaned(detail, facts) {
  const { rules, kind, bath } = facts;
  const recipe = own(rules.recipes, bath?.recipe || detail.recipe || '');
  if (recipe === undefined) return withoutRecipe(detail.method, rules.clears ?? {});
  const found = { recipe: recipe.code };
  if (recipe.method !== detail.method || !recipe.kinds.includes(kind)) return { ...found, wrong: 'wrong_recipe' };
  if (recipe.contact_seconds) found.needs_seconds = recipe.contact_seconds;
  if (recipe.target_ppm) found.ppm = recipe.target_ppm;
  const kills = killed(recipe, detail.seconds ?? 0, rules.clears ?? {});
  return kills.length ? { ...found, kills } : found;
}

// Sterilising counts by a named recipe only; any washing clears what washing ends.
function withoutRecipe(method, clears) {
  if (method === 'sterilise') return { wrong: 'no_recipe' };
  const kills = Object.keys(clears).filter((disease) => clears[disease].some((way) => way.method === method));
  return kills.length ? { kills } : {};
}

/** The diseases whose flag `recipe` clears when it acts for so many seconds, by what was shown to work. */
export const killed = (recipe, seconds, clears) =>
  Object.keys(clears).filter((disease) => clears[disease].some((way) => kills(recipe, seconds, way)));

function kills(recipe, seconds, way) {
  if (way.method !== null) return recipe.method === way.method;
  return (
    recipe.agent === way.agent &&
    (recipe.target_ppm ?? 0) >= (way.at_least_ppm ?? 0) &&
    seconds >= (way.at_least_seconds ?? 0)
  );
}

function mixed(detail, { rules, strengths, day }) {
  const recipe = own(rules.recipes, detail.recipe);
  if (recipe === undefined) return {};
  const strength = detail.strength_pct || own(strengths, recipe.agent);
  const litres = Number(detail.litres);
  const ppm = strength ? mixingPpm(Number(detail.product_ml), litres, strength) : null;
  const expired = Boolean(detail.product_expires) && detail.product_expires < day;
  const found = {
    agent: recipe.agent,
    ppm: ppm === null ? null : tenths(ppm),
    life_minutes: recipe.life_minutes,
    low_ppm: recipe.test_low_ppm,
    high_ppm: recipe.test_high_ppm,
    flaws: flaws(recipe, ppm, detail.ph ?? null, expired),
    capacity: recipe.items_per_litre ? Math.trunc(recipe.items_per_litre * litres) : null,
  };
  return Object.fromEntries(Object.entries(found).filter(([, value]) => value !== null && value.length !== 0));
}

/** The strength in ppm of `productMl` of a product of so many per cent made up to `litres`. */
export const mixingPpm = (productMl, litres, strengthPct) =>
  (productMl * strengthPct * PPM_IN_ONE_PER_CENT) / (litres * 1000);

// To one decimal as the server rounds: of two that are as near, the even one.
const tenths = (ppm) => Number(ppm % 1 === 0.25 ? `${Math.floor(ppm)}.2` : ppm.toFixed(1));

/** Judges answers by the sheet's checklists; `kitFor(present)` says what the crew's kit of the day requires, by kind. */
export const judgeBy = (checklists, kitFor) => (code, answers) => {
  const points = checklists.find((each) => each.code === code)?.points ?? [];
  const kit = points.some((point) => point.per_kit) ? kitFor(Math.trunc(answers.present ?? 0)) : {};
  return checklist.failed(points, answers, kit);
};

const SEALS = { mended, inspected, released: () => ({}), morning_checked: morningChecked, cleaned, mixed };
