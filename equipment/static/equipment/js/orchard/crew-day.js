// The crew's day as this phone knows it: the sheet, with whatever was recorded here since folded onto it.

import * as rules from '../domain/day.js';
import { farmDate } from '../domain/time.js';
import { newer } from './journal.js';

const byNumber = (one, other) => one.number.localeCompare(other.number, 'en', { numeric: true });

export function createCrewDay({ journal: kept, sheets, memory, crews, user, now = Date.now }) {
  let sheet = null;
  let journal = [];
  let code = null;
  let fetchedAt = null;

  // The crew that was chosen here last, else the first of one's own, else the store's first.
  function chosen() {
    const codes = crews().map((crew) => crew.code);
    return [memory.crew(), crews().find((crew) => crew.own)?.code, codes[0]].find((each) => each && codes.includes(each)) ?? memory.crew();
  }

  // One after the other: what was read earlier never comes to stand over what was read later.
  let loading = Promise.resolve();
  function load() {
    loading = loading.catch(() => {}).then(look);
    return loading;
  }

  async function look() {
    code = chosen();
    const [row, rows] = await Promise.all([code ? sheets.read(code) : null, kept.entries()]);
    journal = rows;
    fetchedAt = row?.fetchedAt ?? null;
    sheet = row ? rules.apply(row.sheet, newer(rows, row.mark).map((entry) => ({ by: user, ...entry }))) : null;
  }

  const people = () => [...sheet.members].sort(byNumber);
  const piece = (tag) => sheet.items.find((item) => item.tag === tag) ?? null;
  const badgeOf = (picker) => everybody().find((each) => each.picker === picker)?.badge ?? null;
  const everybody = () => [...sheet.members, ...sheet.other_pickers];

  function today() {
    const date = farmDate(now() * 1000, sheet.time_zone);
    return date > sheet.day ? date : sheet.day;
  }

  return {
    load,
    now,
    rules,
    code: () => code,
    sheet: () => sheet,
    journal: () => journal,
    fetchedAt: () => fetchedAt,
    crews,
    name: () => crews().find((crew) => crew.code === code)?.name ?? code,
    // A sheet has the plans of its day and of the next: kept overnight, it is read for the new day.
    today,
    isOld: () => today() > sheet.day,
    people,
    everybody,
    others: () => [...sheet.other_pickers].sort(byNumber),
    person: (picker) => everybody().find((each) => each.picker === picker) ?? null,
    byBadge: (badge) => everybody().find((each) => each.badge === badge) ?? null,
    absent: () => memory.absent(code, today()),
    setAbsent: (badges) => memory.setAbsent(code, today(), badges),
    present: () => people().filter((each) => !memory.absent(code, today()).includes(each.badge)),

    kind: (kind) => sheet.kinds.find((each) => each.code === kind) ?? { code: kind, name: kind, name_plural: kind, icon: 'label', comes_back: 'tonight' },
    fault: (fault) => sheet.faults.find((each) => each.code === fault) ?? { code: fault, name: fault, look: '', mend: '', never_mend: '', severity: 'stop_use' },
    recipe: (recipe) => sheet.recipes.find((each) => each.code === recipe) ?? null,
    faultsOf: (kind) => faultsOf(sheet.faults, kind),
    cautions: (kind) => sheet.cautions.filter((each) => each.kinds.includes(kind)).map((each) => each.text),
    block: (block) => sheet.blocks.find((each) => each.code === block) ?? null,

    // A piece as drafts.js wants it: with the badge of whoever has it.
    piece(tag) {
      const found = piece(tag);
      return found && { ...found, badge: found.state.place === 'picker' ? badgeOf(found.state.picker) : null };
    },
    held: (picker) => rules.held(sheet, picker),
    box: () => sheet.items.filter((item) => item.state.place === 'crew' && item.state.crew === code),
    due(at = now()) {
      return new Map(rules.dueList(sheet, at).map((line) => [line.tag, line.due]));
    },
    dipBy: (at = now()) => rules.dipBy(sheet, at),
    visit() {
      const last = sheet.state.visits.at(-1) ?? null;
      return { last, open: last !== null && last.until === null };
    },
  };
}

// Those of the kind itself first, then dirt and wet, which are found every day, then what can be wrong with anything.
function faultsOf(faults, kind) {
  const place = (fault) => (['dirty', 'wet'].includes(fault.code) ? 1 : fault.kinds.length > 0 ? 0 : 2);
  return faults.filter((fault) => fault.kinds.length === 0 || fault.kinds.includes(kind)).sort((one, other) => place(one) - place(other));
}
