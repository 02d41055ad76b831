// Sterilise: which bath, who, in; the time runs with a sound at its end; out, and it is written down.

import { button, cautions, field, h, icon, mark } from '../dom.js';
import { lasted, left } from '../dips.js';
import { bathLines, dippable, presets } from '../rounds.js';
import { dipLine } from '../lines.js';
import { dipPart } from './crew.js';

export const still = true;

// `only`: the tag of one piece that is to go in, chosen on its own screen.
export function draw(ctx, [only]) {
  const { day, say } = ctx;
  const at = day.now();
  const dip = dipLine(day, at);
  const baths = bathLines(day, at);
  const good = baths.filter((bath) => bath.against === null);
  // One that is no good any more is chosen by hand only: what was dipped in it is written down, and does not count.
  const chosen = baths.find((bath) => bath.bath === ctx.round.bath) ?? good.find((bath) => bath.bath === ctx.memory.bath()) ?? good[0] ?? null;
  return [
    h('h1', {}, say('dip')),
    dip && h('section', { class: 'now' }, dipPart(ctx, dip, at)),
    ctx.dips.all().map((group) => timer(ctx, group)),
    h('h2', {}, say('which_bath')),
    h('div', { class: 'stack' }, baths.map((bath) => bathButton(ctx, bath, bath === chosen)), baths.length === 0 && h('p', {}, say('no_bath_here')), button(say('mix_a_bath'), () => ctx.go('mix'), { name: 'bath', main: good.length === 0 }), baths.length > 0 && button(say('test_or_empty'), () => ctx.go('baths'), { name: 'inspect' })),
    chosen && who(ctx, chosen, only),
  ];
}

export function scan(ctx, args, read) {
  if (read.what === 'bath') {
    ctx.round.bath = read.code;
    ctx.redraw();
    return true;
  }
  const piece = read.what === 'item' ? ctx.day.piece(read.code) : null;
  if (!piece) return false;
  const { tags = [], scanned = tags.length === 0 } = ctx.round;
  Object.assign(ctx.round, { tags: [...new Set([...tags, piece.tag])], scanned, preset: null });
  ctx.redraw();
  return true;
}

function bathButton(ctx, bath, pressed) {
  const more = bath.against ? ctx.against(bath.against) : ctx.say('bath_good', { time: bath.until ? ctx.times().moment(bath.until, ctx.day.now()) : ctx.say('no_end'), left: bath.left ?? '—' });
  return button(bath.name, () => {
    Object.assign(ctx.round, { bath: bath.bath, tags: null, preset: null });
    ctx.redraw();
  }, { pressed, name: bath.against ? 'partial' : 'bath', wants: Boolean(bath.against), more, key: bath.bath });
}

function who(ctx, bath, only) {
  const { say, round, day } = ctx;
  const pieces = dippable(day, bath.recipe, day.now());
  const offered = presets(pieces, day.absent());
  const start = only && pieces.some((piece) => piece.tag === only) ? [only] : (offered.find((each) => each.name === 'whole')?.tags ?? []);
  const tags = round.tags ?? start;
  const preset = round.preset === undefined || round.tags === null ? (only ? null : 'whole') : round.preset;
  const choose = (changes) => {
    Object.assign(round, { scanned: false, ...changes });
    ctx.redraw();
  };
  const toggle = (tag) => choose({ tags: tags.includes(tag) ? tags.filter((each) => each !== tag) : [...tags, tag], preset: null });
  const minutes = field(say('were_in_for'), { inputmode: 'decimal', value: String(bath.recipe.contact_seconds ? Math.ceil(bath.recipe.contact_seconds / 60) : 0) });
  return [
    bath.against && h('p', {}, mark('wants', 'partial', say('will_not_count', { why: ctx.against(bath.against) }))),
    h('h2', {}, say('whose')),
    h('div', { class: 'pair' }, offered.map((each) => button(say(`round_${each.name}`), () => choose({ tags: each.tags, preset: each.name }), { pressed: preset === each.name, more: say('pieces', { n: each.tags.length }) }))),
    h('p', { class: 'quiet' }, say('or_scan_each')),
    h('div', { class: 'numbers' }, pieces.map((piece) => h('button', { type: 'button', class: 'button', key: piece.tag, 'aria-pressed': String(tags.includes(piece.tag)), 'aria-label': `${piece.number || say('box')} ${piece.tag}`, onclick: () => toggle(piece.tag) }, h('span', { class: 'button-say' }, piece.number || say('box'), h('small', {}, piece.short))))),
    pieces.length === 0 && h('p', {}, say('nothing_to_dip')),
    h('h2', {}, say('before_dip')),
    h('ul', {}, bath.recipe.before.map((text) => h('li', {}, text))),
    cautions([...bath.recipe.cautions, say('label_first')], say('take_care')),
    tags.length > 0 && h('div', { class: 'stack' }, button(say('they_are_in', { n: tags.length }), () => ctx.startDip(bath, pieces.filter((piece) => tags.includes(piece.tag)), Boolean(round.scanned)), { main: true, name: 'clock', more: bath.recipe.contact_seconds ? say('starts_timer', { span: ctx.times().countdown(bath.recipe.contact_seconds * 1000) }) : '' })),
    tags.length > 0 && h('details', {}, h('summary', { class: 'button' }, say('done_without_timer')), minutes.box, h('div', { class: 'stack' }, button(say('write_it_down', { n: tags.length }), () => earlier(ctx, bath, tags, minutes.input.value)))),
    h('h2', {}, say('after_dip')),
    h('ul', {}, bath.recipe.after.map((text) => h('li', {}, text))),
  ];
}

function earlier(ctx, bath, tags, text) {
  const minutes = Number(text.replace(',', '.'));
  if (!(minutes > 0 && minutes < 10_000)) return ctx.tell.no(ctx.say('how_many_minutes'));
  return ctx.finishDip({ bath: bath.bath, recipe: bath.recipe.code, tags, seconds: Math.round(minutes * 60), scanned: Boolean(ctx.round.scanned), whole: ctx.round.preset !== null });
}

function timer(ctx, group) {
  const { say } = ctx;
  const now = ctx.day.now();
  const over = left(group, now) === 0;
  const tags = group.pieces.map((piece) => piece.tag);
  const out = () => {
    if (left(group, ctx.day.now()) > 0 && !group.early) {
      ctx.dips.ask(group);
      return ctx.tell.no(say('too_early', { left: ctx.times().countdown(left(group, ctx.day.now())) }), say('too_early_more'));
    }
    return ctx.finishDip({ bath: group.way.code, recipe: group.way.recipe, tags, seconds: lasted(group, ctx.day.now()), scanned: group.scanned, group });
  };
  return h(
    'section',
    { class: 'timer', 'data-state': over ? 'ready' : 'running', 'data-group': group.id, 'aria-label': group.way.name },
    h('b', { class: 'timer-left', role: 'timer' }, ctx.times().countdown(left(group, now))),
    h('p', {}, icon(over ? 'yes' : 'clock'), ' ', h('span', { 'data-slot': 'timer-say' }, over ? say('time_is_up') : say('still_to_go')), ' ', say('pieces', { n: tags.length }), '. ', group.way.name),
    h('div', { class: 'stack' }, button(say('out'), out, { main: over, name: 'out' }), button(say('not_in_after_all'), () => {
      ctx.dips.remove(group);
      ctx.redraw();
    }, { name: 'undo' })),
  );
}
