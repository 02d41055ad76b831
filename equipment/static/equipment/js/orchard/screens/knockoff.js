// Knock-off: what must come back, of whom; and what stays in the orchard overnight, counted here and by whom it is locked.

import { button, field, h, mark } from '../dom.js';
import * as drafts from '../drafts.js';
import { called } from '../here.js';
import { pieceLine } from '../lines.js';
import { pieceLink } from './crew.js';

export const still = true;

export function draw(ctx) {
  const { day, say } = ctx;
  const at = day.now();
  const due = day.due(at);
  const back = day.rules.mustComeBack(day.sheet());
  const people = day.people().map((person) => ({ person, items: back.filter((item) => item.state.place === 'picker' && item.state.picker === person.picker) })).filter(({ items }) => items.length > 0);
  const box = back.filter((item) => item.state.place === 'crew');
  const line = (item) => pieceLink(ctx, pieceLine(item, day, due, at), at);
  return [
    h('h1', {}, say('knock_off')),
    h('p', { class: 'lead' }, back.length > 0 ? say('must_come_back', { n: back.length, kinds: kinds(ctx, back) }) : say('nothing_to_bring')),
    h('ul', { class: 'people' }, people.map(({ person, items }) => h('li', { class: 'person' }, h('a', { class: 'person-number', href: ctx.path('picker', person.picker), 'aria-label': say('picker_number', { number: person.number }) }, person.number), h('div', { class: 'person-gear' }, items.map(line))))),
    box.length > 0 && [h('h2', {}, say('in_the_box')), h('div', { class: 'person-gear' }, box.map(line))],
    h('h2', {}, say('stays_here')),
    stays(ctx),
  ];
}

function kinds({ day, say }, items) {
  const counts = new Map();
  for (const { kind } of items) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  return [...counts].map(([kind, n]) => say('n_of', { n, kind: n === 1 ? day.kind(kind).name : day.kind(kind).name_plural })).join(', ');
}

// Pressed or scanned, and counted: of each kind as many as lie there.
function stays(ctx) {
  const { day, say, round } = ctx;
  const may = day.sheet().items.filter((item) => ['picker', 'crew'].includes(item.state.place) && item.state.crew === day.code() && day.kind(item.kind).stays_in_orchard);
  const chosen = may.filter((item) => (round.stays ?? []).includes(item.tag));
  const left = day.sheet().items.filter((item) => item.state.place === 'orchard' && item.state.crew === day.code());
  const blocks = day.sheet().blocks;
  const block = h('select', { id: 'stay-block' }, blocks.map((each) => h('option', { value: each.code, selected: each.code === (day.visit().last?.block ?? blocks[0]?.code) }, each.code)));
  const locked = field(say('locked_by'), { maxlength: 80 }, say('locked_by_help'));
  const counts = new Map([...new Set(chosen.map((item) => item.kind))].map((kind) => [kind, field(say('how_many_counted', { kind: day.kind(kind).name_plural }), { inputmode: 'numeric', value: String(chosen.filter((item) => item.kind === kind).length) })]));
  const toggle = (tag) => {
    const now = round.stays ?? [];
    round.stays = now.includes(tag) ? now.filter((each) => each !== tag) : [...now, tag];
    ctx.redraw();
  };
  const write = () => {
    const counted = Object.fromEntries([...counts].map(([kind, { input }]) => [kind, Number(input.value)]));
    if (Object.values(counted).some((n) => !Number.isInteger(n) || n < 0)) return ctx.tell.no(say('how_many_there'));
    round.stays = [];
    return ctx.record(drafts.stowed(chosen, { block: block.value, lockedBy: locked.input.value.trim(), counted, crew: day.code() }), say('said_stowed', { n: chosen.length, block: block.value }));
  };
  return [
    left.length > 0 && h('p', {}, mark('yes', 'lock', say('left_already', { tags: left.map((item) => item.tag).join(' ') }))),
    may.length === 0 && h('p', {}, say('nothing_may_stay')),
    may.length > 0 && h('p', { class: 'quiet' }, say('press_or_scan_what_stays')),
    h('div', { class: 'numbers' }, may.map((item) => h('button', { type: 'button', class: 'button', key: `stay-${item.tag}`, 'aria-pressed': String((round.stays ?? []).includes(item.tag)), onclick: () => toggle(item.tag) }, h('span', { class: 'button-say' }, item.tag.slice(2), h('small', {}, day.kind(item.kind).name))))),
    chosen.length > 0 && [h('p', { class: 'field' }, h('label', { for: 'stay-block' }, say('in_which_block')), block), [...counts.values()].map(({ box }) => box), locked.box, h('p', { class: 'quiet' }, say('counted_by', { name: called(ctx.here.user) })), h('div', { class: 'stack' }, button(say('they_stay', { n: chosen.length }), write, { main: true, name: 'lock' }))],
  ];
}

export function scan(ctx, args, read) {
  const item = read.what === 'item' ? ctx.day.piece(read.code) : null;
  if (!item || !ctx.day.kind(item.kind).stays_in_orchard) return false;
  ctx.round.stays = [...new Set([...(ctx.round.stays ?? []), item.tag])];
  ctx.redraw();
  return true;
}
