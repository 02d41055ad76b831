// An item of a sheet among what bears on it there: its crew's and other crews' visits, and what voids its cleanings.

import { condition } from './condition.js';
import { inside } from './values.js';

export function around(sheet, item) {
  const others = Object.entries(sheet.other_visits ?? {}).map(([crew, visits]) => [crew, inside(visits)]);
  return { visits: { ...Object.fromEntries(others), [sheet.crew.code]: inside(sheet.state).visits }, void: item.void };
}

const worked = new WeakMap();

/** As condition.js has it, times in microseconds. A sheet is never changed: it is worked out once for each item on it. */
export function conditionIn(sheet, item) {
  const last = worked.get(item);
  if (last?.sheet === sheet) return last.found;
  const found = condition(inside(item.state), sheet.rules, around(sheet, item));
  worked.set(item, { sheet, found });
  return found;
}
