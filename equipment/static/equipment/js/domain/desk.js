// The states of a sheet in memory, with lines folded onto them one by one: `read` makes a line of an entry, as the book
// will have it, `add` folds it.

import { sealingOf } from './given.js';
import { createPeople, normal } from './people.js';
import { replanned } from './plans.js';
import { sealed } from './sealing.js';
import { step } from './steps.js';
import { micros, iso } from './time.js';
import { BATH, CREW, ITEM, inside, outside } from './values.js';
import { ownVerdicts, voided } from './voids.js';

const VISITING = ['arrived', 'left', 'stopped'];

export function createDesk(sheet) {
  const people = createPeople(sheet);
  const items = new Map(sheet.items.map((row) => [row.tag, { ...row, state: inside(row.state) }]));
  const baths = new Map(sheet.baths.map((row) => [row.bath, { ...row, state: inside(row.state), own: [] }]));
  const elsewhere = new Map(Object.entries(sheet.other_visits ?? {}).map(([crew, visits]) => [crew, inside(visits)]));
  const stoodIn = [...(sheet.stood_in ?? [])];
  let state = inside(sheet.state);
  let plans = sheet.plans;

  // A piece that no sheet knows: it lay in the store, as far as anybody here can tell.
  function item(tag) {
    if (!items.has(tag)) {
      const kind = sheet.kinds.find((each) => tag.startsWith(each.prefix))?.code ?? '';
      const unknown = { ...ITEM, place: 'store', store: sheet.store, tag, kind, registered: true };
      items.set(tag, { tag, id: null, kind, size: '', hand: '', set: null, state: unknown, void: {}, unknown: true });
    }
    return items.get(tag);
  }

  function bath(own) {
    if (!baths.has(own)) baths.set(own, { bath: own, state: { ...BATH }, dipped: 0, own: [], unknown: true });
    return baths.get(own);
  }

  // The crew that the entry names or implies, as the server will find it.
  function crewOf(entry, picker, row) {
    if (entry.crew) return normal(entry.crew);
    if (!row) return null;
    if (picker !== null) return people.countsFor(picker);
    return entry.verb === 'found' ? null : row.state.crew;
  }

  // The line of the book that the entry will be: its references resolved, the facts of the day sealed in.
  function read(entry) {
    const row = entry.item ? item(normal(entry.item)) : null;
    const own = entry.bath ?? null;
    const picker = people.picker(entry.picker ?? entry.detail?.picker);
    const block = entry.block ?? entry.detail?.block ?? null;
    const detail = { ...entry.detail };
    if (detail.from) detail.from = people.holder(detail.from);
    if (entry.verb === 'handed_out' && picker !== null && !entry.crew && people.crewOf(picker) === null) {
      detail.verdict = ['picker_left'];
    }
    const line = {
      id: entry.id, verb: entry.verb, happened_at: micros(entry.happened_at), store: sheet.store, detail, picker,
      crew: crewOf(entry, picker, row), block: block === null ? null : normal(block), bath: own, by: entry.by ?? null,
      item: row?.tag ?? null,
    };
    const facts = sealingOf({ ...sheet, plans }, line, row?.state.kind ?? '', own === null ? null : bath(own).state);
    return { ...line, detail: sealed(line.verb, detail, facts) };
  }

  function ofItem(line) {
    const row = item(line.item);
    items.set(row.tag, { ...row, state: step('item', row.state, line) });
    if (line.verb === 'cleaned' && line.bath) bath(line.bath).own.push({ at: line.happened_at, entry: line.id });
    if (line.verb === 'handed_out' && line.detail.waived && line.picker !== null) {
      stoodIn.push([line.picker, line.detail.waived, iso(line.happened_at)]);
    }
  }

  function ofBath(line) {
    const row = bath(line.bath);
    row.state = step('bath', row.state, line);
  }

  function ofCrew(line) {
    if (line.verb === 'joined' || line.verb === 'parted') people[line.verb](line.picker, line.crew);
    if (line.crew !== sheet.crew.code) return ofAnotherCrew(line);
    state = step('crew', state, line);
    if (line.verb === 'replanned') plans = replanned(plans, state.replanned.at(-1));
    return undefined;
  }

  // Of another crew this sheet has only its visits, which the clocks of lent gear run by.
  function ofAnotherCrew(line) {
    if (!VISITING.includes(line.verb)) return;
    const before = { ...CREW, visits: elsewhere.get(line.crew) ?? [] };
    elsewhere.set(line.crew, step('crew', before, line).visits);
  }

  function add(line) {
    if (line.item) ofItem(line);
    else if (line.bath) ofBath(line);
    else ofCrew(line);
  }

  function shown() {
    const mine = ownVerdicts([...baths.values()]);
    const lists = people.lists(state);
    return {
      ...sheet,
      ...lists,
      plans,
      state: outside(lists.state),
      items: [...items.values()].map((row) => ({
        ...row, set: row.state.set, state: outside(row.state), void: voided(row, baths, mine),
      })),
      baths: [...baths.values()].map(({ own, ...row }) => ({
        ...row, state: outside(row.state), dipped: row.dipped + own.length,
      })),
      other_visits: Object.fromEntries([...elsewhere].map(([crew, visits]) => [crew, outside(visits)])),
      stood_in: stoodIn,
    };
  }

  return { read, add, shown };
}
