// A symbol that did not arrive whole on any keyboard: its end lacks, characters came twice or not at all, or each came as
// another one. Pure.

const FEWEST = 3; // characters by which a symbol is known

/** The finding of diagnose.js for `text`; `of` names the symbol of `sheet` where it can be told. */
export function broken(text, sheet) {
  for (const of of ['alphabet', 'address', 'code']) {
    const wanted = sheet[of];
    if (text.length >= FEWEST && wanted.startsWith(text)) return { code: 'cut_off', level: 'stops', of };
    const extra = doubled(text, wanted);
    if (extra) return { code: 'doubled', level: 'stops', of, text: extra };
    const gone = lost(text, wanted);
    if (gone && text.length * 2 >= wanted.length) return { code: 'lost', level: 'stops', of, text: gone };
  }
  if (text.length !== sheet.alphabet.length) return { code: 'not_the_sheet', level: 'unknown' };
  const swapped = [...sheet.alphabet].map((each, at) => `${each}→${text[at]}`).filter((each) => each[0] !== each[2]);
  return { code: 'unknown_layout', level: 'stops', of: 'alphabet', text: swapped.join(' ') };
}

// The characters that came more than once in a row; '' where that alone does not explain `text`.
function doubled(text, wanted) {
  let [extra, at] = ['', 0];
  for (const character of text) {
    if (character === wanted[at]) at += 1;
    else if (at > 0 && character === wanted[at - 1]) extra += character;
    else return '';
  }
  return at === wanted.length ? extra : '';
}

// The characters of `wanted` that are not there; null where that alone does not explain `text`.
function lost(text, wanted) {
  let [gone, at] = ['', 0];
  for (const character of wanted) {
    if (character === text[at]) at += 1;
    else gone += character;
  }
  return at === text.length ? gone : null;
}
