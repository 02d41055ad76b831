// One piece: what is wrong with it, in one touch; and whatever else may have become of it.

import { button, cautions, h, mark, tag } from '../dom.js';
import * as drafts from '../drafts.js';
import { pieceLine, whereabouts } from '../lines.js';

export function draw(ctx, [code]) {
  const { day, say } = ctx;
  const piece = day.piece(code);
  if (!piece) return stranger(ctx, code);
  const line = pieceLine(piece, day, day.due(), day.now());
  return [
    h('h1', {}, tag(piece.tag), ' ', line.name),
    h('p', { class: 'lead' }, where(ctx, piece)),
    line.dip && h('p', {}, mark(line.dip.over ? 'wants' : 'quiet', 'clock', line.dip.over ? say('dip_it') : say('dip_by', { time: ctx.times().moment(line.dip.at, day.now()) }))),
    piece.state.place === 'missing' && h('div', { class: 'stack' }, button(say('found'), () => ctx.record(drafts.found(piece, day.code()), say('said_found', { tag: piece.tag })), { main: true, name: 'yes' })),
    openFaults(ctx, piece),
    spareChosen(ctx, piece),
    photo(ctx, piece),
    h('h2', {}, say('what_is_wrong')),
    h('div', { class: 'stack' }, day.faultsOf(piece.kind).map((fault) => button(fault.name, () => choose(ctx, piece, fault.code), { more: fault.look }))),
    cautions(day.cautions(piece.kind), say('take_care')),
    h('h2', {}, say('or_else')),
    h('div', { class: 'stack' }, others(ctx, piece, line)),
  ];
}

// A second scan while the fault is not chosen yet: a piece of the box is the spare; anything else is looked at itself.
export function scan(ctx, [code], read) {
  const piece = ctx.day.piece(code);
  if (!piece) return false;
  if (read.what === 'fault') {
    choose(ctx, piece, read.code);
    return true;
  }
  const other = read.what === 'item' && read.code !== code ? ctx.day.piece(read.code) : null;
  if (piece.state.place !== 'picker' || other?.kind !== piece.kind || other.state.place !== 'crew') return false;
  ctx.pending = { piece: code, spare: other.tag };
  ctx.redraw();
  return true;
}

function choose(ctx, piece, fault) {
  const spare = ctx.pending?.piece === piece.tag ? ctx.pending.spare : null;
  const rule = ctx.day.fault(fault);
  if (!ctx.day.faultsOf(piece.kind).some((each) => each.code === fault)) return ctx.tell.no(ctx.say('no_such_fault', { fault: rule.name }));
  if (piece.state.place !== 'picker' || rule.severity === 'note') return hurt(ctx, piece, fault, null);
  if (spare) return hurt(ctx, piece, fault, ctx.day.piece(spare));
  return ctx.go('spare', piece.tag, fault);
}

// What is only written down (dirty, wet, a little rust) stays in the picker's hands.
async function hurt(ctx, piece, fault, spare) {
  const photo = ctx.photoOf(piece.tag);
  const name = ctx.day.fault(fault).name;
  const acts = spare ? drafts.broken({ piece, fault, spare, crew: ctx.day.code(), photo: photo?.sha256 }) : [drafts.faultFound(piece, fault, photo?.sha256)];
  const words = spare ? ctx.say('said_swapped', { tag: piece.tag, fault: name, spare: spare.tag, number: ctx.day.person(piece.state.picker)?.number ?? '' }) : ctx.say('said_fault', { tag: piece.tag, fault: name });
  await ctx.record(acts, words, { photos: photo ? [photo] : [], home: true });
}

function spareChosen(ctx, piece) {
  if (ctx.pending?.piece !== piece.tag) return null;
  return h('p', { class: 'notice' }, mark('yes', 'yes', ctx.say('spare_is', { tag: ctx.pending.spare })));
}

function photo(ctx, piece) {
  const taken = ctx.photoOf(piece.tag);
  const input = h('input', { type: 'file', accept: 'image/*', capture: 'environment', class: 'sr', id: 'photo', onchange: () => input.files[0] && ctx.keepPhoto(piece.tag, input.files[0]) });
  return h('div', { class: 'stack' }, h('label', { class: 'button', for: 'photo' }, taken ? ctx.say('photo_taken') : ctx.say('take_photo')), input);
}

function openFaults(ctx, piece) {
  const open = piece.state.faults.filter((fault) => !fault.mended_at);
  return open.map(({ fault }) => {
    const about = ctx.day.fault(fault);
    const soil = { wash: drafts.washed, dry: drafts.dried }[about.makes_due];
    return h('div', { class: 'stack' }, h('p', {}, mark('wants', 'fault', about.name)), !soil && button(ctx.say('mended_here'), () => ctx.go('mend', piece.tag, fault), { name: 'mend' }));
  });
}

function others(ctx, piece, line) {
  const { day, say } = ctx;
  const { place } = piece.state;
  const out = place === 'picker' || place === 'crew' || place === 'orchard';
  return [
    piece.state.dirty_at && button(say('washed_here'), () => ctx.record(drafts.washed(piece), say('said_washed', { tag: piece.tag })), { name: 'clean' }),
    piece.state.wet_at && button(say('dried_here'), () => ctx.record(drafts.dried(piece), say('said_dried', { tag: piece.tag })), { name: 'wet' }),
    line.dip && button(say('sterilise_it'), () => ctx.go('dip', piece.tag), { name: 'bath' }),
    button(say('give_to_another'), () => ctx.go('pass', piece.tag), { name: 'hands' }),
    place === 'picker' && button(say('into_the_box'), () => ctx.record([drafts.toBox(piece, day.code())], say('said_box', { tag: piece.tag })), { name: 'back' }),
    out && button(say('lost'), () => ctx.record(drafts.missed(piece), say('said_lost', { tag: piece.tag })), { name: 'missing', wants: true, more: say('lost_more') }),
  ];
}

function where(ctx, piece) {
  const { place, number, ours, block } = whereabouts(piece, ctx.day);
  const words = { picker: number ? 'has_it' : 'another_has_it', crew: ours ? 'in_box' : 'other_crew_has_it', orchard: 'left_in', missing: 'is_missing', store: 'is_in_store', bench: 'is_in_store', gone: 'is_gone' };
  return ctx.say(words[place] ?? 'is_in_store', { number, block });
}

// Not on the sheet: whoever has it may have it from another crew or the store. It can be handed over all the same.
function stranger(ctx, code) {
  const piece = { tag: code, state: null, badge: null };
  return [
    h('h1', {}, tag(code)),
    h('p', {}, ctx.say('not_on_sheet')),
    h('div', { class: 'stack' }, button(ctx.say('give_to_another'), () => ctx.go('pass', code), { name: 'hands' }), button(ctx.say('found_it'), () => ctx.record(drafts.found(piece, ctx.day.code()), ctx.say('said_found', { tag: code })), { name: 'yes' })),
  ];
}
