// One picker: what they have, what their kit still asks for, and whether they are here.

import { button, h, icon, mark } from '../dom.js';
import * as drafts from '../drafts.js';
import { lacking, pieceLine, sparesFor } from '../lines.js';
import { pieceLink } from './crew.js';

export function draw(ctx, [id]) {
  const { day, say } = ctx;
  const person = day.person(Number(id));
  if (!person) return [h('p', {}, say('no_such_picker'))];
  const at = day.now();
  const due = day.due(at);
  const member = day.people().some((each) => each.picker === person.picker);
  const absent = day.absent().includes(person.badge);
  return [
    h('h1', {}, say('picker_number', { number: person.number })),
    h('p', { class: 'quiet' }, icon('badge'), ' ', person.badge ?? say('no_badge')),
    absent && h('p', {}, mark('wants', 'picker', say('absent_today'))),
    h('div', { class: 'person-gear' }, day.held(person.picker).map((item) => pieceLink(ctx, pieceLine(item, day, due, at), at))),
    day.held(person.picker).length === 0 && h('p', {}, say('has_nothing')),
    lacking(day, person.picker).map((line) => missing(ctx, person, line, at)),
    h('p', { class: 'quiet' }, say('scan_to_give')),
    h('h2', {}, say('or_else')),
    h('div', { class: 'stack' }, presence(ctx, person, member, absent)),
  ];
}

// A piece that is scanned here goes to this picker.
export function scan(ctx, [id], read) {
  const person = ctx.day.person(Number(id));
  if (read.what !== 'item' || !person?.badge) return false;
  const piece = ctx.day.piece(read.code) ?? { tag: read.code, state: null, badge: null };
  if (piece.badge === person.badge) return false;
  give(ctx, person, piece);
  return true;
}

function missing(ctx, person, line, at) {
  const spares = sparesFor(ctx.day, line.kind, person, at);
  return [
    h('h2', {}, mark(line.need === 'required' ? 'wants' : 'quiet', 'partial', ctx.say('lacks_one', { n: line.quantity, kind: line.name }))),
    h('p', { class: 'quiet' }, line.why),
    h('div', { class: 'stack' }, spares.slice(0, 4).map((spare) => button(ctx.say('give_spare', { tag: spare.tag }), () => give(ctx, person, ctx.day.piece(spare.tag)), { name: 'out', wants: !spare.fit, more: spare.reasons.map(({ code, params }) => ctx.why(code, params)).join('. ') }))),
    spares.length === 0 && h('p', {}, ctx.say('no_spare', { kind: line.name })),
  ];
}

const give = (ctx, person, piece) =>
  ctx.record([drafts.toPicker(piece, person.badge, ctx.day.code())], ctx.say('said_given', { tag: piece.tag, number: person.number }));

function presence(ctx, person, member, absent) {
  const { day, say } = ctx;
  if (!person.badge) return h('p', {}, say('no_badge_more'));
  if (!member) return button(say('lent_to_us'), () => ctx.record(drafts.joined(day.code(), person.badge), say('said_joined', { number: person.number })), { name: 'picker', main: true });
  const badges = day.absent().filter((badge) => badge !== person.badge);
  return [
    button(absent ? say('is_here_after_all') : say('is_absent'), () => {
      day.setAbsent(absent ? badges : [...badges, person.badge]);
      ctx.redraw();
    }, { name: 'picker' }),
    button(say('lent_away'), () => ctx.record(drafts.parted(day.code(), person.badge), say('said_parted', { number: person.number })), { name: 'hands', more: say('lent_away_more') }),
  ];
}
