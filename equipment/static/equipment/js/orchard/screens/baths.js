// The store's baths: how each stands, tested, emptied.

import { button, cautions, field, h, mark } from '../dom.js';
import * as drafts from '../drafts.js';
import { bathLines } from '../rounds.js';

export const still = true;
const PLACES = ['sewer', 'label', 'collected'];

export function draw(ctx) {
  const { day, say } = ctx;
  const baths = bathLines(day, day.now());
  return [
    h('h1', {}, say('baths')),
    baths.length === 0 && h('p', {}, say('no_bath_here')),
    baths.map((bath) => one(ctx, bath)),
    h('div', { class: 'stack' }, button(say('mix_a_bath'), () => ctx.go('mix'), { main: baths.length === 0, name: 'bath' })),
  ];
}

function one(ctx, bath) {
  const { say } = ctx;
  const ppm = field(say('strip_reads'), { inputmode: 'decimal' }, bath.recipe.test_low_ppm ? say('strip_limits', { low: bath.recipe.test_low_ppm, high: bath.recipe.test_high_ppm }) : '');
  const diluted = field(say('diluted_by'), { inputmode: 'decimal', value: '1' }, say('diluted_help'));
  return h(
    'section',
    { 'aria-label': bath.name },
    h('h2', {}, bath.name),
    h('p', {}, say('bath_of', { litres: bath.litres, time: ctx.times().moment(bath.mixed, ctx.day.now()) })),
    h('p', {}, bath.against ? mark('wants', 'partial', ctx.against(bath.against)) : mark('yes', 'yes', say('bath_good', { time: bath.until ? ctx.times().moment(bath.until, ctx.day.now()) : say('no_end'), left: bath.left ?? '—' }))),
    cautions(bath.recipe.cautions, say('take_care')),
    h('details', {}, h('summary', { class: 'button' }, say('test_it')), ppm.box, diluted.box, h('div', { class: 'stack' }, button(say('write_test'), () => tested(ctx, bath, ppm.input.value, diluted.input.value), { main: true }))),
    h('details', {}, h('summary', { class: 'button' }, say('empty_it')), h('p', {}, say('empty_where')), h('div', { class: 'stack' }, PLACES.map((place) => button(say(`empty_${place}`), () => ctx.record(drafts.emptied(bath.bath, place), say('said_emptied')), { key: `${bath.bath}-${place}` })))),
  );
}

function tested(ctx, bath, reading, times) {
  const ppm = Number(reading.replace(',', '.'));
  const diluted = Number(times.replace(',', '.'));
  if (!reading.trim() || !(ppm >= 0 && ppm <= 1_000_000)) return ctx.tell.no(ctx.say('what_reading'));
  if (!(diluted >= 1 && diluted <= 10_000)) return ctx.tell.no(ctx.say('what_diluted'));
  return ctx.record(drafts.tested(bath.bath, ppm, diluted), ctx.say('said_tested'));
}
