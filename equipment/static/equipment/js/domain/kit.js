// What a day plan asks a picker, or a crew, to hold: equipment/domain/kit.py. A rule is one of the sheet's `kit`.

import { own } from './values.js';

// Kinds tagged as a pair, and the kind whose pieces make up such a pair two by two.
const PAIRED = { gloves: 'glove' };

/** A crew without a plan is equipped as for clipping: too much is carried back, too little stops the picking. */
export const NO_PLAN = { clipped: true, crop: '', tall_trees: false, present: 0 };

const applies = (rule, plan) =>
  (rule.clipped === null || rule.clipped === plan.clipped) &&
  (rule.tall_trees === null || rule.tall_trees === plan.tall_trees) &&
  (rule.crops.length === 0 || rule.crops.includes(plan.crop.toLowerCase())) &&
  rule.at_least <= plan.present &&
  (rule.at_most === null || plan.present <= rule.at_most);

const asked = (rule, present) => rule.quantity * (rule.per === null ? 1 : Math.ceil(present / rule.per));

// Of two rules for one kind the required one counts, then the one that asks for more.
function stricter(one, other) {
  if (one === undefined) return other;
  if ((one.need === 'required') !== (other.need === 'required')) return one.need === 'required' ? one : other;
  return other.quantity > one.quantity ? other : one;
}

/** Lines {kind, quantity, need, why} for a `holder` ('picker' or 'crew') and all plans of a day together. */
export function together(rules, plans, holder) {
  const lines = new Map();
  for (const plan of plans) {
    for (const rule of rules) {
      if (rule.holder !== holder || !applies(rule, plan)) continue;
      const quantity = asked(rule, plan.present);
      if (!quantity) continue;
      const line = { kind: rule.kind, quantity, need: rule.need, why: rule.why };
      lines.set(rule.kind, stricter(lines.get(rule.kind), line));
    }
  }
  return [...lines.values()];
}

/** The lines still to give, each with the quantity that is short; `held` counts pieces by kind. */
export function missing(lines, held, waived = []) {
  return lines
    .filter((line) => !waived.includes(line.kind))
    .map((line) => ({ ...line, quantity: line.quantity - heldOf(line.kind, held) }))
    .filter((line) => line.quantity > 0);
}

/** Whether nothing that is short holds anyone back: what is only advised never does. */
export const complete = (short) => short.every((line) => line.need === 'advised');

function heldOf(kind, held) {
  const single = own(PAIRED, kind);
  const pairs = single === undefined ? 0 : Math.floor((own(held, single) ?? 0) / 2);
  return (own(held, kind) ?? 0) + pairs;
}

/** Pieces counted by kind. */
export function counted(items) {
  const counts = {};
  for (const item of items) counts[item.kind] = (own(counts, item.kind) ?? 0) + 1;
  return counts;
}
