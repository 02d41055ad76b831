// The first screen: by when to dip, where the crew is, and who has what. One touch on a piece says what is wrong with it.

import { button, h, icon, mark } from '../dom.js';
import { dipLine, whoHasWhat } from '../lines.js';

export function draw(ctx) {
  const { day, say } = ctx;
  const at = day.now();
  const { lines, box } = whoHasWhat(day, at);
  const lacking = lines.filter((line) => required(line).length > 0);
  return [
    h('h1', {}, day.name()),
    day.isOld() && h('p', {}, mark('wants', 'book', say('sheet_old', { day: day.sheet().day }))),
    now(ctx, at),
    lacking.length > 0 && h('p', {}, mark('wants', 'partial', say('not_equipped', { numbers: lacking.map((line) => line.number).join(', ') }))),
    h('h2', {}, say('who_has_what')),
    h('p', { class: 'quiet' }, say('press_a_piece')),
    h('ul', { class: 'people' }, lines.map((line) => person(ctx, line, at))),
    h('h2', {}, say('in_the_box')),
    box.length > 0 ? h('div', { class: 'person-gear' }, box.map((piece) => pieceLink(ctx, piece, at))) : h('p', {}, say('box_empty')),
  ];
}

function now(ctx, at) {
  const { day, say } = ctx;
  const dip = dipLine(day, at);
  return h('section', { class: 'now', 'aria-label': say('now') }, dip && h('a', { class: 'now-link', href: ctx.path('dip'), key: 'dip' }, dipPart(ctx, dip, at)), blockPart(ctx, at));
}

export function dipPart(ctx, dip, at) {
  const { say } = ctx;
  const time = ctx.times().moment(dip.at, at);
  const more = dip.over ? say('dip_over_more', { n: dip.count, time }) : say('dip_by_more', { n: dip.count, cause: say(`cause_${dip.cause}`) });
  return h(
    'span',
    { class: 'now-dip', 'data-over': String(dip.over) },
    h('b', {}, icon('clock'), ' ', dip.over ? say('dip_now') : say('dip_by', { time })),
    h('span', {}, more),
  );
}

function blockPart(ctx, at) {
  const { day, say } = ctx;
  const { last, open } = day.visit();
  const where = open && h('p', { class: 'now-block' }, h('b', {}, say('in_block', { block: last.block })), ' ', say('since', { time: ctx.times().moment(Date.parse(last.at), at), span: ctx.times().span(at - Date.parse(last.at)) }));
  // Left open since yesterday: nobody is there any more, and coming in is what is done next.
  if (open && !isToday(ctx, last, at)) return [where, h('div', {}, button(say('come_in'), () => ctx.go('block'), { main: true, name: 'orchard' }))];
  if (open) {
    return [
      where,
      h('div', { class: 'buttons' }, button(say('tea_break'), () => ctx.act('stopped', day.code(), 'break'), { name: 'clock' }), button(say('rain'), () => ctx.act('stopped', day.code(), 'rain'), { name: 'wet' })),
    ];
  }
  return [
    h('p', { class: 'now-block' }, h('b', {}, last ? say('stopped_in', { block: last.block }) : say('in_no_block'))),
    h('div', {}, last && isToday(ctx, last, at) ? button(say('picking_again', { block: last.block }), () => ctx.act('arrived', day.code(), last.block), { main: true, name: 'orchard' }) : button(say('come_in'), () => ctx.go('block'), { main: true, name: 'orchard' })),
  ];
}

// What is only advised holds nobody back, and stands on the picker's own screen.
const required = (line) => line.lacks.filter((each) => each.need === 'required');

export const isToday = (ctx, visit, at) => ctx.times().day(Date.parse(visit.at)) === ctx.times().day(at);

function person(ctx, line, at) {
  const { say } = ctx;
  return h(
    'li',
    { class: `person${line.absent ? ' person-absent' : ''}` },
    h('a', { class: 'person-number', href: ctx.path('picker', line.picker), key: `picker-${line.picker}`, 'aria-label': say('picker_number', { number: line.number }) }, line.number, line.absent && h('small', {}, say('absent'))),
    h(
      'div',
      { class: 'person-gear' },
      line.pieces.map((piece) => pieceLink(ctx, piece, at)),
      required(line).length > 0 && h('p', { class: 'person-lacks' }, say('lacks', { what: required(line).map((each) => each.name).join(', ') })),
    ),
  );
}

export function pieceLink(ctx, piece, at) {
  const { say } = ctx;
  const state = piece.faults[0] ?? (piece.dip?.over ? say('dip_it') : piece.name);
  const label = [piece.name, piece.tag, piece.faults.join(', '), piece.dip?.over ? say('dip_it') : ''].filter(Boolean).join(', ');
  return h(
    'a',
    { class: 'piece', href: ctx.path('piece', piece.tag), key: `piece-${piece.tag}`, 'data-due': String(Boolean(piece.dip?.over || piece.stopped)), 'aria-label': label },
    icon(piece.icon),
    h('span', {}, h('b', {}, piece.short), h('small', {}, state)),
  );
}
