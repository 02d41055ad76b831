// May this item go out now, and if not, why? equipment/domain/gate.py, without its words: the page has those by code.

import { condition } from './condition.js';
import { againstHandingOut } from './custody.js';
import { takenUp } from './stints.js';

const OFFICER = ['safety officer'];
const STORE = ['storeman', 'safety officer'];

/**
 * {fit, reasons: [{code, blocks, override, params}]} for the item going out at `at` to `to` {store, picker, crew,
 * from, wants}. `traits` are the item's own size and hand, `around` as in condition.js.
 */
export function verdict(state, rules, at, to, traits, around) {
  const custody = againstHandingOut(state, to.store || state.store || '', to.from ?? null);
  const reasons = custody.map((code) => reason(code));
  const asked = (to.picker ?? null) === null ? state : takenUp(state, to.picker, to.crew || '', at);
  reasons.push(...against(condition(asked, rules, around), at));
  if (!fits(traits ?? {}, to.wants ?? {})) reasons.push(reason('wrong_size', [], false));
  return { fit: !reasons.some((each) => each.blocks), reasons };
}

/** What the item's condition says against its going out at `at`, the gravest first; one reason a thing. */
export function against(found, at) {
  const reasons = found.flags.map((disease) => reason('disease_flag', [], true, { disease }));
  for (const fault of found.stopping) {
    const override = found.never.includes(fault.fault) ? [] : OFFICER;
    reasons.push(reason('stop_use', override, true, { fault: fault.fault, since: fault.at, waits: fault.release }));
  }
  for (const [fault, until] of found.mending) {
    if (until <= at) reasons.push(reason('mend_overdue', STORE, true, { fault: fault.fault, since: until }));
  }
  for (const due of found.cleanings.filter((each) => each.at !== null && each.at <= at)) {
    const by = due.method === 'sterilise' ? OFFICER : STORE;
    reasons.push(reason('cleaning_due', by, due.holds, { method: due.method, cause: due.cause, since: due.at }));
  }
  for (const due of found.inspections.filter((each) => each.at !== null && each.at <= at)) {
    reasons.push(reason('inspection_due', OFFICER, due.holds, { checklist: due.checklist, since: due.at }));
  }
  return reasons;
}

const reason = (code, override = [], blocks = true, params = {}) => ({ code, blocks, override, params });

/** Whether size and hand match wherever both the item and the person say one. */
export const fits = (traits, wants) =>
  Object.entries(wants).every(([trait, wanted]) => !traits[trait] || !wanted || traits[trait] === wanted);
