// Change of hands: who has the piece now?

import { button, h, tag } from '../dom.js';
import * as drafts from '../drafts.js';

export function draw(ctx, [code]) {
  const { day, say } = ctx;
  const piece = day.piece(code);
  const people = day.people().filter((each) => each.badge && each.badge !== piece?.badge);
  return [
    h('h1', {}, say('who_has_it_now')),
    h('p', {}, tag(code)),
    h('p', { class: 'quiet' }, say('or_scan_badge')),
    h('div', { class: 'numbers' }, people.map((person) => button(person.number, () => pass(ctx, code, person)))),
    h('div', { class: 'stack' }, button(say('into_the_box'), () => ctx.record([drafts.toBox(of(ctx, code), day.code())], say('said_box', { tag: code }), { home: true }), { name: 'back' })),
  ];
}

export function scan(ctx, [code], read) {
  if (read.what !== 'badge') return false;
  const person = ctx.day.byBadge(read.code);
  if (person) pass(ctx, code, person);
  else ctx.tell.no(ctx.say('unknown_badge'), ctx.say('unknown_badge_more'));
  return true;
}

const of = (ctx, code) => ctx.day.piece(code) ?? { tag: code, state: null, badge: null };

const pass = (ctx, code, person) =>
  ctx.record([drafts.toPicker(of(ctx, code), person.badge, ctx.day.code())], ctx.say('said_given', { tag: code, number: person.number }), { home: true });
