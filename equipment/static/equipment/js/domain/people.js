// Who is who on a sheet: the badges of the day, and each picker's crew as it is after what was recorded.

import { parse } from '../codes.js';
import { holder } from './custody.js';

/** A code as the book writes it; what is no made code (a block "n4") just in capitals. */
export function normal(text) {
  const found = parse(text);
  return found.ok ? found.text : text.trim().toUpperCase();
}

export function createPeople(sheet) {
  const members = sheet.members.map((each) => ({ ...each, crew: sheet.crew.code }));
  const everybody = [...members, ...sheet.other_pickers];
  const byBadge = new Map(everybody.filter((each) => each.badge).map((each) => [each.badge, each]));
  // The crews that somebody is in, the one joined last at the end; and the last one of who is in none now.
  const inCrews = new Map(everybody.map((each) => [each.picker, each.crew ? [each.crew] : []]));
  const left = new Map();
  const crews = new Set([sheet.crew.code, ...sheet.crews.map((each) => each.code)]);
  let changed = false;

  const crewOf = (who) => inCrews.get(who)?.at(-1) ?? null;

  function set(who, now) {
    inCrews.set(who, now);
    changed = true;
  }

  /** The picker who has this badge today; null where the sheet does not know it. */
  const picker = (badge) => (badge ? (byBadge.get(normal(badge))?.picker ?? null) : null);

  return {
    picker,
    crewOf,
    /** The crew that gear in their hands counts for: who is in none any more had it from the last one. */
    countsFor: (who) => crewOf(who) ?? left.get(who) ?? null,
    /** The one word for a holder that was sent as a badge or as a crew's code. */
    holder(code) {
      const known = normal(code);
      return crews.has(known) ? holder(null, known) : holder(picker(known), null);
    },
    joined(who, crew) {
      const now = inCrews.get(who) ?? [];
      if (!now.includes(crew)) set(who, [...now, crew]);
    },
    parted(who, crew) {
      const now = inCrews.get(who) ?? [];
      if (!now.includes(crew)) return;
      if (now.length === 1) left.set(who, crew);
      set(who, now.filter((each) => each !== crew));
    },
    /** The lists of the sheet as they are now, `state` with those members alone. */
    lists(state) {
      if (!changed) return { state, members: sheet.members, other_pickers: sheet.other_pickers };
      const mine = (who) => crewOf(who) === sheet.crew.code;
      const now = everybody.map((each) => ({ ...each, crew: crewOf(each.picker) }));
      const known = Object.entries(state.members).filter(([who]) => mine(Number(who)));
      return {
        state: { ...state, members: Object.fromEntries(known) },
        members: now.filter((each) => mine(each.picker)),
        other_pickers: now.filter((each) => !mine(each.picker)),
      };
    },
  };
}
