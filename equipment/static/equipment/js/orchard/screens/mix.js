// Mix a bath: first what to measure out, with the cautions beside it; once it is mixed, it is written down.

import { uuid7 } from '../../counter/uuid7.js';
import { mixture } from '../../domain/mixing.js';
import { button, cautions, choices, field, h } from '../dom.js';
import * as drafts from '../drafts.js';

export const still = true;
const LEFT_FOR_PRODUCT = 0.95;
const number = (text) => Number(String(text).trim().replace(',', '.') || NaN);
const plain = (value) => String(Number(value.toFixed(3)));

export function draw(ctx, [code]) {
  const { day, say } = ctx;
  const recipes = day.sheet().recipes.filter((recipe) => recipe.method === 'sterilise');
  const recipe = recipes.find((each) => each.code === code) ?? null;
  return [
    h('h1', {}, say('mix_a_bath')),
    cautions([say('label_first')], say('take_care')),
    recipe ? chosen(ctx, recipe) : h('div', { class: 'stack' }, recipes.map((each) => button(each.name, () => ctx.go('mix', each.code)))),
  ];
}

function chosen(ctx, recipe) {
  const { say } = ctx;
  const litres = field(say('how_many_litres'), { inputmode: 'decimal' });
  const strength = field(say('product_strength'), { inputmode: 'decimal', value: recipe.strength_pct === null ? '' : String(recipe.strength_pct) }, say('product_strength_help', { what: recipe.measured_as }));
  const sums = h('div', { 'aria-live': 'polite' });
  const work = () => sums.replaceChildren(...numbers(ctx, recipe, number(litres.input.value), number(strength.input.value)));
  litres.input.addEventListener('input', () => sums.replaceChildren());
  strength.input.addEventListener('input', () => sums.replaceChildren());
  return [h('h2', {}, recipe.name), litres.box, strength.box, h('div', { class: 'stack' }, button(say('work_it_out'), work, { main: true })), sums];
}

function numbers(ctx, recipe, litres, strength) {
  const { say } = ctx;
  const made = mixture(recipe.target_ppm, litres, strength, { powder: recipe.powder, ready: recipe.ready_to_use });
  if (made.why) return [h('p', { class: 'wrong' }, say(`mix_${made.why}`))];
  const words = { product: plain(made.product), litres: plain(litres), water: plain(made.water), first: plain(litres * LEFT_FOR_PRODUCT) };
  const steps = made.parts?.[1] === 0 ? [] : [say('mix_first', words), say(made.powder ? 'mix_powder_in' : 'mix_pour', words), say('mix_fill', words)];
  const what = made.powder ? 'mix_powder' : made.parts[1] === 0 ? 'mix_as_it_comes' : 'mix_product';
  return [
    h('div', { class: 'measure' }, h('p', {}, h('b', {}, say(what, words))), made.parts && made.parts[1] > 0 && h('p', {}, say('mix_parts', { product: made.parts[0], water: made.parts[1] })), steps.length > 0 && h('ol', {}, steps.map((step) => h('li', {}, step)))),
    cautions(recipe.cautions, say('take_care')),
    h('ul', {}, recipe.before.map((step) => h('li', {}, step))),
    ...written(ctx, recipe, made, strength),
  ];
}

function written(ctx, recipe, made, strength) {
  const { say } = ctx;
  const lot = field(say('product_lot'), { maxlength: 80 });
  const expires = field(say('product_expires'), { type: 'date' });
  const ph = recipe.product_ph ? field(say('product_ph', { low: recipe.ph_low, high: recipe.ph_high }), { inputmode: 'decimal' }) : null;
  const write = () => {
    const reading = ph ? number(ph.input.value) : null;
    if (ph && !(reading >= 0 && reading <= 14)) return ctx.tell.no(say('what_ph'));
    const bath = uuid7();
    ctx.memory.lastBath(bath);
    ctx.nextRound = { bath };
    return ctx.record(drafts.mixed(bath, { recipe: recipe.code, litres: made.litres, product: made.product, strength, lot: lot.input.value.trim(), expires: expires.input.value, ph: reading }), say('said_mixed'), { go: ['dip'] });
  };
  return [h('h2', {}, say('once_mixed')), lot.box, expires.box, ph?.box ?? '', h('div', { class: 'stack' }, button(say('is_mixed'), write, { main: true, name: 'yes' }))];
}
