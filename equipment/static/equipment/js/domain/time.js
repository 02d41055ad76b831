// Times of the book. Inside they are whole microseconds since 1970, as the server counts them: its own entries may be a
// microsecond apart, and a due time must not depend on who rounds. At the edges they are ISO 8601 in UTC, spelled as the
// server spells them. Exact up to the year 2255.

export const SECOND = 1_000_000;
export const MINUTE = 60 * SECOND;
export const HOUR = 60 * MINUTE;
export const DAY = 24 * HOUR;

const WRITTEN = /^(\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d)(?:\.(\d{1,6})\d*)?(Z|[+-]\d\d:?\d\d)$/;

/** `text` (ISO 8601 with an offset) in microseconds; null for null. Throws RangeError for anything else. */
export function micros(text) {
  if (text === null || text === undefined) return null;
  const found = WRITTEN.exec(text);
  const seconds = found ? Date.parse(found[1] + found[3]) : NaN;
  if (Number.isNaN(seconds)) throw new RangeError(`This is no time: ${text}`);
  return seconds * 1000 + Number((found[2] ?? '').padEnd(6, '0'));
}

/** The other way round. */
export function iso(at) {
  if (at === null || at === undefined) return null;
  const seconds = Math.floor(at / SECOND);
  const rest = at - seconds * SECOND;
  const text = new Date(seconds * 1000).toISOString().slice(0, 19);
  return rest ? `${text}.${String(rest).padStart(6, '0')}Z` : `${text}Z`;
}

/** A moment as a caller has it: milliseconds since 1970 as `Date.now()` gives them, or ISO 8601. In microseconds. */
export const instant = (at) => (typeof at === 'number' ? Math.round(at * 1000) : micros(at));

const calendars = new Map();
const lastAsked = new Map(); // by zone: a screen asks for the date of one moment many times, and calendars are slow

/** The date on the farm's calendar, `2026-06-01`, of a moment in microseconds. */
export function farmDate(at, timeZone) {
  if (!calendars.has(timeZone)) {
    const parts = { timeZone, calendar: 'gregory', year: 'numeric', month: '2-digit', day: '2-digit' };
    calendars.set(timeZone, new Intl.DateTimeFormat('en-US', parts));
  }
  const second = Math.floor(at / SECOND);
  const last = lastAsked.get(timeZone);
  if (last?.second === second) return last.date;
  const parts = {};
  for (const { type, value } of calendars.get(timeZone).formatToParts(at / 1000)) parts[type] = value;
  const date = `${parts.year.padStart(4, '0')}-${parts.month}-${parts.day}`;
  lastAsked.set(timeZone, { second, date });
  return date;
}
