// What an item's fold, its crews' visits, its baths and the rules add up to: equipment/domain/condition.py.

import * as clock from './clock.js';
import { DIRTY, WET } from './faults.js';
import { DAY } from './time.js';
import { isOut, own } from './values.js';

export const CONTENTS = 'contents';
const ANY_FAULT = {
  kinds: [], severity: 'stop_use', within_days: null, structural: false, released_by: 'mender', overridable: true,
  makes_due: '',
};

/** The rule of a fault; one that is not known (any more) stops the use of the item. */
export const faultRule = (rules, code) => own(rules.faults, code) ?? { code, ...ANY_FAULT };

/**
 * The condition of an item: {stopping, never, mending: [[fault, at]], cleanings, inspections: [{checklist, at, holds,
 * last}], flags}. `around` is {visits, void}; `void` maps a cleaning's entry to why it does not count.
 */
export function condition(state, rules, around) {
  if (state.place === 'gone') return { stopping: [], never: [], mending: [], cleanings: [], inspections: [], flags: [] };
  const stops = (fault) => faultRule(rules, fault.fault).severity === 'stop_use' || fault.mended_at !== null;
  const stopping = state.faults.filter(stops);
  const byRule = stopping.map((fault) => faultRule(rules, fault.fault));
  const cleared = (flag) => flag.cleared.some((entry) => own(around.void, entry) === undefined);
  return {
    stopping,
    never: byRule.filter((rule) => rule.structural || !rule.overridable).map((rule) => rule.code),
    mending: mending(state, rules),
    cleanings: cleanings(state, rules, around),
    inspections: inspections(state, rules),
    flags: state.flags.filter((flag) => !cleared(flag)).map((flag) => flag.disease),
  };
}

function mending(state, rules) {
  const found = [];
  for (const fault of state.faults) {
    const rule = faultRule(rules, fault.fault);
    if (rule.severity === 'mend_by' && rule.within_days && fault.mended_at === null) {
      found.push([fault, fault.at + rule.within_days * DAY]);
    }
  }
  return found;
}

function canBe(fault, state, rules) {
  const rule = own(rules.faults, fault);
  return rule !== undefined && (rule.kinds.length === 0 || rule.kinds.includes(state.kind));
}

function cleanings(state, rules, { visits, void: voided }) {
  const soiled = [];
  const soil = (method, at, cause) => soiled.push({ method, at, cause, since: null, holds: true });
  if (state.dirty_at !== null && canBe(DIRTY, state, rules)) soil('wash', state.dirty_at, 'dirty');
  if (state.wet_at !== null && canBe(WET, state, rules)) soil('dry', state.wet_at, 'wet');
  const ends = new Set(['dirty', 'flag', ...(canBe(WET, state, rules) ? ['wet'] : [])]);
  const isVoid = (entry) => own(voided, entry) !== undefined;
  const byRule = (own(rules.cleaning, state.kind) ?? []).filter(
    (rule) => !soiled.some((due) => due.method === rule.method),
  );
  return [...byRule.map((rule) => clock.due(state, rule, visits, isVoid, ends)), ...soiled];
}

function inspections(state, rules) {
  const found = [];
  for (const rule of own(rules.inspections, state.kind) ?? []) {
    const last = own(state.inspected, rule.checklist) ?? null;
    found.push({ checklist: rule.checklist, at: inspectionAt(state, rule, last), holds: rule.holds, last });
  }
  if (state.expires_on !== null) {
    const over = Date.parse(`${state.expires_on}T00:00:00Z`) * 1000 + DAY;
    found.push({ checklist: CONTENTS, at: over, holds: true, last: null });
  }
  return found;
}

function inspectionAt(state, rule, last) {
  if (rule.every_days) return last === null ? state.registered_at : last + rule.every_days * DAY;
  if (isOut(state) || (last !== null && state.since !== null && last >= state.since)) return null;
  return state.since;
}
