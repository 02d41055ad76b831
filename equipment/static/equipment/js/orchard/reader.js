// What was scanned, typed or seen by the camera: which of our codes is it? Pure: all three go through this one function.

import { parse } from '../codes.js';

const UUID = /[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}/i;

/**
 * `given`: prefixes {badge, crew, set, counter}, faultTags {number: fault code}.
 * @returns {{what: 'item'|'badge'|'crew'|'set'|'bath'|'fault'|'counter'|'not_a_code'|'wrong_check', code: string}}
 */
export function read(text, { prefixes, faultTags }) {
  const bath = UUID.exec(text);
  if (bath) return { what: 'bath', code: bath[0].toLowerCase() };
  const found = parse(text);
  if (!found.ok) return { what: found.why, code: text.trim() };
  const kind = Object.keys(prefixes).find((name) => prefixes[name] === found.prefix);
  if (kind === undefined) return { what: 'item', code: found.text };
  if (kind !== 'counter') return { what: kind, code: found.text };
  const fault = faultTags[found.number];
  return fault ? { what: 'fault', code: fault } : { what: 'counter', code: found.text };
}

// Whether a text is, or was meant to be, one of ours: what a scanner typed into a field.
export const isCode = (text) => UUID.test(text) || parse(text).ok || parse(text).why === 'wrong_check';
