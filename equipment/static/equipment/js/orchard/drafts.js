// What a supervisor does, as drafts of entries: [{verb, item | crew | bath, picker?, block?, detail, note?}]. Several are
// one act. Pure: no page, no clock. `piece` is {tag, state, badge}, where `badge` is that of the picker who has it.

const without = (detail) => Object.fromEntries(Object.entries(detail).filter(([, value]) => value !== '' && value !== null && value !== undefined));

// Whoever has the piece now, as the book wants to be told of a change of hands; null where nobody of ours does.
function giver(piece, crew) {
  if (piece.state?.place === 'picker') return piece.badge ?? null;
  return piece.state?.place === 'crew' ? (piece.state.crew ?? crew) : null;
}

export function toPicker(piece, badge, crew) {
  return { verb: 'handed_out', item: piece.tag, picker: badge, detail: without({ from: giver(piece, crew) }) };
}

export function toBox(piece, crew) {
  return { verb: 'handed_out', item: piece.tag, crew, detail: without({ from: giver(piece, crew) }) };
}

export const faultFound = (piece, fault, photo) => ({ verb: 'fault_found', item: piece.tag, detail: without({ fault, photo }) });

/**
 * A piece is broken: the fault, the piece into the crew's box, the spare to whoever had it; one act. What lies in the box
 * already stays there. `spare` null: there is none.
 */
export function broken({ piece, fault, spare, crew, photo = null }) {
  const had = piece.state?.place === 'picker' ? piece.badge : null;
  return [
    faultFound(piece, fault, photo),
    ...(had ? [toBox(piece, crew)] : []),
    ...(had && spare ? [toPicker(spare, had, crew)] : []),
  ];
}

export const mended = (piece, { fault, method, minutes }) => [
  { verb: 'mended', item: piece.tag, detail: { fault, method, minutes, where: 'orchard' } },
];

// `seconds` in the bath; `scanned`: each piece was scanned, not told of as "the whole crew".
export function sterilised(tags, { bath, recipe, seconds, scanned, note = '' }) {
  return tags.map((item) => ({
    verb: 'cleaned', item, bath, detail: { method: 'sterilise', recipe, seconds, each_scanned: scanned }, ...(note ? { note } : {}),
  }));
}

export const washed = (piece) => [{ verb: 'cleaned', item: piece.tag, detail: { method: 'wash', each_scanned: true } }];
export const dried = (piece) => [{ verb: 'cleaned', item: piece.tag, detail: { method: 'dry', each_scanned: true } }];

export const mixed = (bath, { recipe, litres, product, strength, lot, expires, ph }) => [
  {
    verb: 'mixed',
    bath,
    detail: without({ recipe, litres, product_ml: product, strength_pct: strength, product_lot: lot, product_expires: expires, ph }),
  },
];
export const tested = (bath, ppm, diluted) => [{ verb: 'tested', bath, detail: { ppm, diluted } }];
export const emptied = (bath, where) => [{ verb: 'emptied', bath, detail: { where } }];

export const arrived = (crew, block) => [{ verb: 'arrived', crew, block, detail: { block } }];
export const left = (crew) => [{ verb: 'left', crew, detail: {} }];
export const stopped = (crew, cause) => [{ verb: 'stopped', crew, detail: { cause } }];
export const replanned = (crew, { date, part, clipped, block, why }) => [
  { verb: 'replanned', crew, detail: without({ date, part, clipped, block }), note: why },
];

export const morningChecked = (crew, answers) => [{ verb: 'morning_checked', crew, detail: { answers } }];
export const joined = (crew, picker) => [{ verb: 'joined', crew, picker, detail: {} }];
export const parted = (crew, picker) => [{ verb: 'parted', crew, picker, detail: {} }];
export const takenOver = (crew) => [{ verb: 'taken_over', crew, detail: {} }];

export const missed = (piece) => [{ verb: 'missed', item: piece.tag, detail: {} }];
export const found = (piece, crew) => [{ verb: 'found', item: piece.tag, crew, detail: {} }];

// Pieces left in the block overnight. `counted` says of each kind how many were counted there.
export function stowed(pieces, { block, lockedBy, counted, crew }) {
  return pieces.map((piece) => ({
    verb: 'stowed', item: piece.tag, crew, block, detail: without({ block, locked_by: lockedBy, counted: counted[piece.kind] }),
  }));
}

// The last act taken back, its last line first.
export function reversed(entries) {
  return [...entries].reverse().map(({ id, item, crew, bath }) => ({
    verb: 'reversed', ...(item ? { item } : crew ? { crew } : { bath }), detail: { entry: id },
  }));
}
