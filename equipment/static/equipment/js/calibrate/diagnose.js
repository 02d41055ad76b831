// What is wrong with a scanner, told from the keys that came of a symbol whose text is known. Pure: no page, no words.
//
// A stroke is {key, at} as the browser has it (`at` in ms), with `ctrl`, `alt`, `altgr` and `caps` where they were on.

import { parse } from '../codes.js';
import { PAUSE } from '../counter/keys.js';
import { broken } from './broken.js';
import { LOCKS, PAIRS, typed } from './layouts.js';

const DEAD = '◌';
const ENDS = ['Enter', 'Tab'];
const AIM = /^\][A-Za-z][A-Za-z0-9]$/;
const ALT_CODES = 3; // keys with Alt: fewer are a hand's

/**
 * @param strokes what came, in order
 * @param {{alphabet: string, code: string, address: string}} sheet what the symbols hold
 * @returns {{text, of, level: 'good'|'wants'|'unknown'|'stops', findings: {code, level, ...values}[], marks: {key, gap, should}[]}}
 *   `of` is the symbol it was, null where none; a finding's level may be 'harmless' too; a mark's `should` is what was
 *   printed where something else arrived, and `gap` the ms since the stroke before it.
 */
export function diagnose(strokes, sheet) {
  const body = strokes.slice(0, bodyLength(strokes));
  const keys = body.filter((stroke) => !stroke.ctrl && !stroke.alt);
  const text = keys.map((stroke) => (stroke.key === 'Dead' ? DEAD : stroke.key)).join('');
  const found = whole(text, sheet, keys.some((stroke) => stroke.caps));
  const byNumber = body.filter((stroke) => stroke.alt).length >= ALT_CODES;
  const findings = [
    ...(byNumber ? [{ code: 'alt_codes', level: 'stops' }] : reading(text, found, sheet, keys)),
    ...controls(body),
    ...ending(strokes.slice(body.length)),
    ...pace(strokes.slice(0, body.length + 1)),
  ];
  const of = found?.name ?? findings.find((each) => each.of)?.of ?? null;
  return { text, of, level: worst(findings), findings, marks: marks(strokes, keys, found, sheet) };
}

function bodyLength(strokes) {
  const isEnd = ({ key, ctrl }) => ENDS.includes(key) || (ctrl && /^[jm]$/i.test(key));
  let length = strokes.length;
  while (length > 0 && isEnd(strokes[length - 1])) length -= 1;
  return length;
}

const worst = (findings) => ['stops', 'unknown', 'wants'].find((level) => findings.some((each) => each.level === level)) ?? 'good';

// The symbol that stands whole in `text`, and how it came to look like that. An address holds the code: it goes first.
function whole(text, sheet, caps) {
  for (const name of ['address', 'alphabet', 'code']) {
    for (const way of ways(caps)) {
      const arrived = typed(way.cased(sheet[name]), way.pair, way.lock);
      const start = arrived ? text.indexOf(arrived) : -1;
      if (start >= 0) return { ...way, name, arrived, start, end: start + arrived.length };
    }
  }
  return null;
}

const CASES = { '': (text) => text, lower: (text) => text.toLowerCase(), upper: (text) => text.toUpperCase() };

// As printed first of all; then by Caps Lock, which the computer may have told of, or by a scanner that changes case.
function* ways(caps) {
  const locked = LOCKS.slice(1).map((lock) => ({ lock, change: '' }));
  const changed = Object.keys(CASES).slice(1).map((change) => ({ lock: '', change }));
  for (const pair of PAIRS) {
    for (const each of [{ lock: '', change: '' }, ...(caps ? [...locked, ...changed] : [...changed, ...locked])]) {
      yield { pair, ...each, cased: CASES[each.change] };
    }
  }
}

function reading(text, found, sheet, keys) {
  if (!found) return [broken(text, sheet)];
  const { pair, lock, change } = found;
  const findings = [];
  const same = (name) => typed(sheet[name], pair) === sheet[name];
  if (pair.scanner !== pair.computer) {
    findings.push({ code: 'layout', level: same('alphabet') ? 'wants' : 'stops', ...pair });
  }
  if (lock) findings.push({ code: 'caps_lock', level: 'harmless' });
  if (change) findings.push({ code: change, level: 'harmless' });
  const [before, after] = [text.slice(0, found.start), text.slice(found.end)];
  // The pages pass over what needs AltGr, and then over the half of a prefix only.
  const heard = (from, to) => keys.slice(from, to).filter((stroke) => !stroke.altgr).map((stroke) => stroke.key).join('');
  const level = (around) => (parse(around).ok ? 'harmless' : 'stops');
  if (before) {
    const stands = level(heard(0, found.start) + sheet.code);
    findings.push({ code: AIM.test(before) ? 'aim' : 'prefix', text: before, level: stands });
  }
  if (after) findings.push({ code: 'suffix', text: after, level: level(sheet.code + heard(found.end)) });
  return findings;
}

function controls(body) {
  const pressed = body.filter((stroke) => stroke.ctrl).map((stroke) => `Ctrl+${stroke.key.toUpperCase()}`);
  return pressed.length ? [{ code: 'control', level: 'wants', text: pressed.join(' ') }] : [];
}

function ending(strokes) {
  if (strokes.length === 0) return [{ code: 'no_end', level: 'wants' }];
  const feed = strokes.find((stroke) => stroke.ctrl);
  if (feed) return [{ code: 'control_end', level: 'wants', text: `Ctrl+${feed.key.toUpperCase()}` }];
  if (strokes.length > 1) return [{ code: 'two_ends', level: 'wants' }];
  return strokes[0].key === 'Tab' ? [{ code: 'tab_end', level: 'wants' }] : [];
}

// Slow by and large, or halting on the way: the pages take a longer pause for the end of a scan.
function pace(strokes) {
  const gaps = strokes.slice(1).map((stroke, index) => Math.round(stroke.at - strokes[index].at));
  if (gaps.length === 0) return [];
  const middle = [...gaps].sort((one, other) => one - other)[Math.floor(gaps.length / 2)];
  if (middle >= PAUSE) return [{ code: 'slow', level: 'wants', ms: middle }];
  return Math.max(...gaps) >= PAUSE ? [{ code: 'split', level: 'wants', ms: Math.max(...gaps) }] : [];
}

function marks(strokes, keys, found, sheet) {
  return strokes.map((stroke, index) => {
    const place = found ? keys.indexOf(stroke) - found.start : -1;
    const inside = place >= 0 && place < found?.arrived.length;
    const printed = inside ? sheet[found.name][place] : '';
    return {
      key: stroke.ctrl ? `Ctrl+${stroke.key.toUpperCase()}` : stroke.alt ? `Alt+${stroke.key}` : stroke.key,
      gap: index ? Math.round(stroke.at - strokes[index - 1].at) : null,
      should: printed && printed !== stroke.key ? printed : '',
    };
  });
}
