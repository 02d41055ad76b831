// A crew's day on the phone: the sheet that was fetched, with what the phone recorded since folded onto it, and what
// follows from that, by the rules that the server has too. Pure: no page, no storage, and no clock but `at`, which is
// milliseconds since 1970 or ISO 8601. Times come out as ISO 8601 in UTC. A sheet is never changed: `apply` makes another
// one of the same shape, and the rest answers of either.

import { againstNow, goodUntil } from './bath.js';
import * as gate from './gate.js';
import { createDesk } from './desk.js';
import { normal } from './people.js';
import { around, conditionIn } from './standing.js';
import { instant, iso, micros } from './time.js';
import { OUT, inside } from './values.js';

export { complete, crewKit, isHere, kitOf, missingKit, waivedFor } from './kits.js';

/**
 * The sheet with `entries` folded on, those recorded on this phone since the sheet was fetched: as they are sent to the
 * book, each with `by` (the user's number) where that is known. What a `reversed` among them names is left out; one that
 * takes back what the sheet holds already changes nothing here and is listed in `unfolded`. Items that the sheet did not
 * have come with `unknown: true`.
 */
export function apply(sheet, entries) {
  const inOrder = [...entries].sort((one, other) => one.device_seq - other.device_seq || (one.id < other.id ? -1 : 1));
  const lines = new Map();
  const unfolded = [...(sheet.unfolded ?? [])];
  let desk = createDesk(sheet);
  for (const entry of inOrder) {
    if (entry.verb !== 'reversed') {
      const line = desk.read(entry);
      lines.set(line.id, line);
      desk.add(line);
    } else if (lines.delete(entry.detail.entry)) {
      desk = createDesk(sheet);
      for (const line of lines.values()) desk.add(line);
    } else {
      unfolded.push(entry.detail.entry);
    }
  }
  return { ...desk.shown(), unfolded };
}

export const itemOf = (sheet, tag) => sheet.items.find((item) => item.tag === normal(tag)) ?? null;

/** What speaks for itself of one item, whatever the time: as in condition.js, times as text. Null for one unknown. */
export function conditionOf(sheet, tag) {
  const item = itemOf(sheet, tag);
  if (item === null) return null;
  const found = conditionIn(sheet, item);
  const timed = ({ at, ...rest }) => ({ ...rest, at: iso(at) });
  return {
    ...found,
    stopping: found.stopping.map((fault) => ({ ...timed(fault), mended_at: iso(fault.mended_at) })),
    mending: found.mending.map(([fault, until]) => ({ fault: fault.fault, found: iso(fault.at), until: iso(until) })),
    cleanings: found.cleanings.map((due) => ({ ...timed(due), since: iso(due.since) })),
    inspections: found.inspections.map((due) => ({ ...timed(due), last: iso(due.last) })),
  };
}

/**
 * The cleanings of the crew's gear that is out: [{tag, kind, picker, due: [{method, at, cause, holds, over}]}], each
 * item's soonest first, the items by their soonest. `over`: due at `at` already. What never falls due is left out.
 */
export function dueList(sheet, at) {
  const now = instant(at);
  const found = [];
  for (const item of outOf(sheet)) {
    const due = conditionIn(sheet, item).cleanings.filter((each) => each.at !== null);
    if (due.length === 0) continue;
    due.sort((one, other) => one.at - other.at);
    found.push({ first: due[0].at, tag: item.tag, kind: item.kind, picker: item.state.picker, due });
  }
  found.sort((one, other) => one.first - other.first || (one.tag < other.tag ? -1 : 1));
  const told = ({ method, at: when, cause, holds }) => ({ method, at: iso(when), cause, holds, over: when <= now });
  return found.map(({ tag, kind, picker, due }) => ({ tag, kind, picker, due: due.map(told) }));
}

/** By when the crew must sterilise next: {at, cause, tags}, the tags being those due by then or, where that is past, by
 * `at`. Null where nothing of it falls due. */
export function dipBy(sheet, at) {
  const dips = dueList(sheet, at).flatMap(({ tag, due }) =>
    due.filter((each) => each.method === 'sterilise').map((each) => ({ tag, when: micros(each.at), cause: each.cause })),
  );
  if (dips.length === 0) return null;
  dips.sort((one, other) => one.when - other.when || (one.tag < other.tag ? -1 : 1));
  const until = Math.max(dips[0].when, instant(at));
  const tags = dips.filter((each) => each.when <= until).map((each) => each.tag);
  return { at: iso(dips[0].when), cause: dips[0].cause, tags };
}

const outOf = (sheet) =>
  sheet.items.filter(({ state }) => OUT.includes(state.place) && state.crew === sheet.crew.code);

/** The items that a picker (by number) has. */
export const held = (sheet, picker) =>
  sheet.items.filter(({ state }) => state.place === 'picker' && state.picker === picker);

/** The crew's own pieces of `kind` (null for all), which no picker has. */
export const spares = (sheet, kind = null) =>
  outOf(sheet).filter((item) => item.state.place === 'crew' && (kind === null || item.kind === kind));

/** What is still out and comes back to the store tonight; what was stowed stays in the orchard. */
export function mustComeBack(sheet) {
  const tonight = new Set(sheet.kinds.filter((kind) => kind.comes_back === 'tonight').map((kind) => kind.code));
  return outOf(sheet).filter((item) => item.state.place !== 'orchard' && tonight.has(item.kind));
}

/**
 * Whether a bath takes another piece at `at`: {why: null or what speaks against it, good_until, dipped, left, state},
 * `left` null where it is not counted. Null for a bath that the sheet does not know.
 */
export function bathVerdict(sheet, bath, at) {
  const row = sheet.baths.find((each) => each.bath === bath);
  if (row === undefined) return null;
  const state = inside(row.state);
  const left = state.capacity === null ? null : Math.max(0, state.capacity - row.dipped);
  const why = againstNow(state, instant(at), row.dipped);
  return { why, good_until: iso(goodUntil(state)), dipped: row.dipped, left, state: row.state };
}

const WANTS = { gloves: 'glove_size', glove: 'glove_size', gumboots: 'boot_size', overalls: 'overall_size' };

function wantsOf(sheet, item, picker) {
  const person = sheet.members.find((each) => each.picker === picker);
  const ofAHand = sheet.kinds.find((kind) => kind.code === item.kind)?.hands ?? false;
  return { size: person?.[WANTS[item.kind]] ?? '', hand: (ofAHand && person?.hand) || '' };
}

/**
 * Whether the item may go out at `at` to `to` {store?, picker? (number), crew?, from? (a holder, see custody.js)}:
 * {fit, reasons: [{code, blocks, override, params}]}, times in `params` as text. Null for one that the sheet lacks.
 */
export function verdict(sheet, tag, at, to = {}) {
  const item = itemOf(sheet, tag);
  if (item === null) return null;
  const wants = to.wants ?? ((to.picker ?? null) === null ? {} : wantsOf(sheet, item, to.picker));
  const asked = { store: sheet.store, ...to, wants };
  const traits = { size: item.size, hand: item.hand };
  const found = gate.verdict(inside(item.state), sheet.rules, instant(at), asked, traits, around(sheet, item));
  const told = (params) => ('since' in params ? { ...params, since: iso(params.since) } : params);
  return { fit: found.fit, reasons: found.reasons.map((each) => ({ ...each, params: told(each.params) })) };
}
