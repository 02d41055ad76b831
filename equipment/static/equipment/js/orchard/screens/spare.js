// The fault is known: which spare goes to whoever had the broken piece? One touch, or a scan of the spare.

import { button, h, mark, tag } from '../dom.js';
import * as drafts from '../drafts.js';
import { sparesFor } from '../lines.js';

export function draw(ctx, [code, fault]) {
  const { day, say } = ctx;
  const piece = day.piece(code);
  if (!piece) return [h('p', {}, say('not_on_sheet'))];
  const person = day.person(piece.state.picker);
  const spares = sparesFor(day, piece.kind, person, day.now());
  const about = day.fault(fault);
  return [
    h('h1', {}, say('spare_for', { number: person?.number ?? '' })),
    h('p', {}, tag(code), ' ', mark('wants', 'fault', about.name)),
    h('p', {}, say(stops(about) ? 'stop_using' : 'may_go_on', { n: about.within_days })),
    h('div', { class: 'stack' }, spares.map((spare, place) => spareButton(ctx, piece, fault, spare, place === 0 && spare.fit))),
    spares.length === 0 && h('p', {}, mark('wants', 'missing', say('no_spare', { kind: day.kind(piece.kind).name }))),
    h('p', { class: 'quiet' }, say('or_scan_spare')),
    h('div', { class: 'stack' }, button(say(stops(about) ? 'without_spare' : 'goes_on_with_it'), () => swap(ctx, piece, fault, null), { wants: stops(about), more: say('without_spare_more') })),
  ];
}

export function scan(ctx, [code, fault], read) {
  if (read.what !== 'item' || read.code === code) return false;
  const piece = ctx.day.piece(code);
  const spare = ctx.day.piece(read.code) ?? { tag: read.code, state: null, badge: null };
  if (spare.kind && spare.kind !== piece.kind) ctx.tell.no(ctx.say('other_kind', { tag: read.code, kind: ctx.day.kind(spare.kind).name }));
  else swap(ctx, piece, fault, spare);
  return true;
}

function spareButton(ctx, piece, fault, spare, main) {
  const why = spare.reasons.map(({ code, params }) => ctx.why(code, params));
  const size = [spare.size, spare.hand && ctx.say(`hand_${spare.hand}`)].filter(Boolean).join(', ');
  const more = [size, ...(why.length > 0 ? why : [ctx.say('spare_fit')])].filter(Boolean).join('. ');
  return button(spare.tag, () => swap(ctx, piece, fault, ctx.day.piece(spare.tag)), { main, name: spare.fit ? 'yes' : 'partial', wants: !spare.fit, more });
}

// What need only be mended by a day may be gone on with, and stays with the picker unless a spare is handed over.
const stops = (about) => about.severity === 'stop_use';

async function swap(ctx, piece, fault, spare) {
  // Without a card nothing can be written down for whoever has it.
  if (spare && !piece.badge) return ctx.tell.no(ctx.say('no_badge'), ctx.say('no_badge_more'));
  const photo = ctx.photoOf(piece.tag);
  const number = ctx.day.person(piece.state.picker)?.number ?? '';
  const about = ctx.day.fault(fault);
  const goesOn = !spare && !stops(about);
  const words = spare
    ? ctx.say('said_swapped', { tag: piece.tag, fault: about.name, spare: spare.tag, number })
    : ctx.say(goesOn ? 'said_fault' : 'said_no_spare', { tag: piece.tag, fault: about.name, number });
  const acts = goesOn ? [drafts.faultFound(piece, fault, photo?.sha256)] : drafts.broken({ piece, fault, spare, crew: ctx.day.code(), photo: photo?.sha256 });
  return ctx.record(acts, words, { photos: photo ? [photo] : [], home: true });
}
