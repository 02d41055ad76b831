// Of a sheet: what pickers and the crew must hold for a day, what they hold, who is here.

import { linesOf } from './given.js';
import { complete, counted, missing } from './kit.js';
import { factsOf } from './plans.js';
import { farmDate, micros } from './time.js';

export { complete };

const isWithPicker = (picker) => ({ state }) => state.place === 'picker' && state.picker === picker;

/** Kinds that were waived for the picker on that day of the farm's, by a line of the crew's or along with a hand-out. */
export function waivedFor(sheet, picker, date) {
  const lines = [...sheet.state.waived, ...(sheet.stood_in ?? [])];
  const today = (at) => farmDate(micros(at), sheet.time_zone) === date;
  return [...new Set(lines.filter(([who, , at]) => who === picker && today(at)).map(([, kind]) => kind))];
}

function kit(lines, held, waived) {
  const short = missing(lines, counted(held), waived);
  return { lines, held, waived, missing: short, complete: complete(short) };
}

/** A picker's kit for a day: {lines, held: items, waived: kinds, missing: lines, complete}. */
export function kitOf(sheet, picker, date = sheet.day) {
  const lines = linesOf(sheet, date, 0, 'picker');
  return kit(lines, sheet.items.filter(isWithPicker(picker)), waivedFor(sheet, picker, date));
}

/** The crew's own kit, as kitOf. Without a plan nothing is asked of a crew; `present` null: as many as are in it. */
export function crewKit(sheet, date = sheet.day, present = null) {
  const count = present ?? Object.keys(sheet.state.members).length;
  const lines = factsOf(sheet, date, count).length ? linesOf(sheet, date, count, 'crew') : [];
  const own = ({ state }) => state.place === 'crew' && state.crew === sheet.crew.code;
  return kit(lines, sheet.items.filter(own), []);
}

/** The lines still to give to a picker, or to the crew where `picker` is null. */
export const missingKit = (sheet, picker, date = sheet.day) =>
  (picker === null ? crewKit(sheet, date) : kitOf(sheet, picker, date)).missing;

/** Whether a picker is here by the book: handed something on that day, or complete anyway. Nobody writes it down. */
export function isHere(sheet, picker, date = sheet.day) {
  const begun = ({ state }) => state.stints.some((stint) => stint.picker === picker && ofDay(sheet, stint.at, date));
  if (sheet.items.some(begun)) return true;
  const own = kitOf(sheet, picker, date);
  return own.lines.length > 0 && own.complete;
}

const ofDay = (sheet, at, date) => farmDate(micros(at), sheet.time_zone) === date;
