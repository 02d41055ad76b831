// Reads a code out of what was scanned or typed: the rule of equipment/domain/codes.py, for the browser.
// Pure: no page, no words. A code is two letters, four to seven digits and an ISO 7064 MOD 37,36 check character.

const ALPHABET = '0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ';
const FEWEST_DIGITS = 4;
const LONGEST_TEXT = 2000;

const SCANNED =
  /^(?:[^\p{L}\p{N}]*\][A-Za-z][A-Za-z0-9])?[^\p{L}\p{N}]*([A-Za-z]{2})([0-9]{4,7})([A-Za-z0-9])[^\p{L}\p{N}]*$/u;
const URL_PATH = /:\/\/[^/?#\s]*([^?#\s]*)/;

function checks(text) {
  let check = 18;
  for (const character of text) {
    check = ((((check || 36) * 2) % 37) + ALPHABET.indexOf(character)) % 36;
  }
  return check === 1;
}

function candidates(text) {
  if ([...text].length > LONGEST_TEXT) return [];
  const url = URL_PATH.exec(text);
  return url ? url[1].split('/').reverse() : [text];
}

/**
 * @param {string} text as it came from a scanner, a keyboard or a camera
 * @returns {{ok: true, prefix: string, number: number, text: string} | {ok: false, why: 'not_a_code'|'wrong_check'}}
 */
export function parse(text) {
  let why = 'not_a_code';
  for (const candidate of candidates(text)) {
    const found = SCANNED.exec(candidate);
    if (!found || (found[2].length > FEWEST_DIGITS && found[2][0] === '0')) continue;
    const written = (found[1] + found[2] + found[3]).toUpperCase();
    if (checks(written)) {
      return { ok: true, prefix: found[1].toUpperCase(), number: Number(found[2]), text: written };
    }
    why = 'wrong_check';
  }
  return { ok: false, why };
}
