// What the sheet says for a moment or a day: kit lines, and the facts that sealing looks at.

import { NO_PLAN, together } from './kit.js';
import { factsOf } from './plans.js';
import { judgeBy } from './sealing.js';
import { farmDate } from './time.js';

/** What all plans of the day together ask of a `holder` ('picker' or 'crew'), so many being present. */
export function linesOf(sheet, date, present, holder) {
  const plans = factsOf(sheet, date, present);
  return together(sheet.kit, plans.length ? plans : [{ ...NO_PLAN, present }], holder);
}

/** Facts of the day for one entry (`line`), see `sealed` in sealing.js. */
export function sealingOf(sheet, line, kind, bath) {
  const day = farmDate(line.happened_at, sheet.time_zone);
  const strengths = Object.fromEntries(sheet.recipes.map((recipe) => [recipe.agent, recipe.strength_pct]));
  const judge = judgeBy(sheet.checklists, (present) => required(linesOf(sheet, day, present, 'crew')));
  return { rules: sheet.rules, kind, bath, day, strengths, judge };
}

const required = (lines) =>
  Object.fromEntries(lines.filter((line) => line.need === 'required').map((line) => [line.kind, line.quantity]));
