// View models: plain data of what a screen shows, from the day. Pure: no page, no clock, no words but those of the sheet.

// The end of a tag, which is what a hand compares: CL0012X -> 0012X.
export const short = (tag) => tag.slice(2);

const next = (due, method) => due.filter((each) => each.at !== null && (!method || each.method === method)).sort((one, other) => moment(one.at) - moment(other.at))[0] ?? null;
export const moment = (at) => (typeof at === 'number' ? at : Date.parse(at));

// One piece: {tag, short, kind, name, icon, faults: [names], dip: {at, over} or null}.
export function pieceLine(item, day, due, at) {
  const kind = day.kind(item.kind);
  const dip = next(due.get(item.tag) ?? [], 'sterilise');
  return {
    tag: item.tag,
    short: short(item.tag),
    kind: item.kind,
    name: kind.name,
    icon: kind.icon,
    stopped: item.state.faults.length > 0,
    faults: item.state.faults.map((fault) => day.fault(fault.fault).name),
    dip: dip && { at: moment(dip.at), over: moment(dip.at) <= at },
  };
}

// Who has what: a line for each picker of the crew, by number, and the crew's own box last.
export function whoHasWhat(day, at) {
  const due = day.due(at);
  const absent = new Set(day.absent());
  const pieces = (items) => items.map((item) => pieceLine(item, day, due, at)).sort((one, other) => one.kind.localeCompare(other.kind) || one.tag.localeCompare(other.tag));
  const lines = day.people().map((person) => ({
    ...person,
    absent: absent.has(person.badge),
    pieces: pieces(day.held(person.picker)),
    lacks: absent.has(person.badge) ? [] : lacking(day, person.picker),
  }));
  return { lines, box: pieces(day.box()) };
}

// What somebody's kit still asks for: [{kind, name, quantity, need}].
export function lacking(day, picker) {
  return day.rules.missingKit(day.sheet(), picker, day.today()).map((line) => ({ ...line, name: day.kind(line.kind).name }));
}

// Where a piece is: {place, number, block}.
export function whereabouts(item, day) {
  const { place, picker, crew, block, store } = item.state;
  const person = picker === null ? null : day.person(picker);
  return { place, number: person?.number ?? '', ours: crew === day.code(), block: block ?? '', store: store ?? '' };
}

// Spares of a kind in the crew's box for `person`: {tag, fit, reasons: [codes], same}, the fit ones of their size first.
export function sparesFor(day, kind, person, at) {
  const to = { store: day.sheet().store, picker: person?.picker ?? null, crew: day.code(), from: `crew:${day.code()}` };
  return day.rules
    .spares(day.sheet(), kind)
    .map((item) => {
      const verdict = day.rules.verdict(day.sheet(), item.tag, at, to);
      return { tag: item.tag, short: short(item.tag), size: item.size, hand: item.hand, fit: verdict.fit, reasons: verdict.reasons };
    })
    .sort((one, other) => one.reasons.length - other.reasons.length || one.tag.localeCompare(other.tag));
}

// "Dip by 10:40, at tea": {at, over, count, tea: whether a break comes with it}, or null where nothing falls due.
export function dipLine(day, at) {
  const found = day.dipBy(at);
  return found && { at: moment(found.at), over: moment(found.at) <= at, cause: found.cause, count: found.tags.length, tags: found.tags };
}

// What was recorded on this phone, the latest act first: [{id, at, entries, undone, parked, waiting}]. `rows` as
// `box.entries()` gives them; what was taken back is marked.
export function acts(rows) {
  const undone = new Set(rows.filter(({ entry }) => entry.verb === 'reversed').map(({ entry }) => entry.detail.entry));
  const found = new Map();
  for (const { entry, status, own } of rows) {
    if (entry.verb === 'reversed') continue;
    const id = entry.act ?? entry.id;
    const act = found.get(id) ?? { id, at: moment(entry.happened_at), own, entries: [], undone: false, parked: false, waiting: false };
    act.entries.push(entry);
    act.undone ||= undone.has(entry.id);
    act.parked ||= status === 'parked';
    act.waiting ||= status === 'waiting';
    found.set(id, act);
  }
  return [...found.values()].reverse();
}
