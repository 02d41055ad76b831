// How much product and water make a bath: equipment/domain/mixing.py and dilution.py. Sums only: the label and the safety
// sheet come first, and local law. Amounts are rounded up, so that a bath is never mixed weaker than its recipe asks.

const PPM_IN_ONE_PER_CENT = 10_000;
const MOST_PARTS = 20;
const NEAR = 0.01;
const SAME_PRODUCT = 1.1;
const ROUNDING = 1 + 1e-9;

/**
 * `litres` of a bath of `wantedPpm` mg per litre from a product of `strengthPct` per cent:
 * {litres, product (mL, or g of a powder), water (L), parts: [product, water] or null, powder}, or {why} where it cannot
 * be: 'number' (one of them is none), 'too_weak' (water only makes it weaker), 'other_product' (used as it comes).
 */
export function mixture(wantedPpm, litres, strengthPct, { powder = false, ready = false } = {}) {
  const wanted = wantedPpm / PPM_IN_ONE_PER_CENT;
  if (!(litres > 0 && Number.isFinite(litres) && strengthPct > 0 && strengthPct <= 100 && wanted > 0)) return { why: 'number' };
  if (wanted > strengthPct * ROUNDING) return { why: 'too_weak' };
  if (powder) return { litres, product: measurable((wanted / strengthPct) * 1000 * litres), water: litres, parts: null, powder: true };
  if (ready && strengthPct > wanted * SAME_PRODUCT) return { why: 'other_product' };
  if (ready) return { litres, product: litres * 1000, water: 0, parts: [1, 0], powder: false };
  const product = measurable((wantedPpm * litres * 1000) / (strengthPct * PPM_IN_ONE_PER_CENT));
  return { litres, product, water: Math.max(0, litres - product / 1000), parts: wholeParts(strengthPct, wanted), powder: false };
}

// Whole parts of product and of water, the fewest that come within a hundredth of the strength wanted, never weaker.
function wholeParts(strengthPct, wantedPct) {
  const water = Math.max(0, strengthPct / wantedPct - 1);
  for (let product = 1; product < MOST_PARTS; product += 1) {
    const whole = Math.floor(product * water + 1e-9);
    if ((product * (water + 1)) / (product + whole) <= 1 + NEAR) return [product, whole];
  }
  return [MOST_PARTS, Math.floor(MOST_PARTS * water + 1e-9)];
}

// Rounded up to whole mL or grams, below ten to tenths.
function measurable(amount) {
  const fine = amount < 10 ? 10 : 1;
  return Math.ceil(Number((amount * fine).toFixed(6))) / fine;
}
