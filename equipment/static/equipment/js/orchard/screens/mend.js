// Mended here: how, and how long it took.

import { button, choices, cautions, field, h, mark, tag } from '../dom.js';
import * as drafts from '../drafts.js';

export const still = true;
const MINUTES = [2, 5, 10, 15, 30];

export function draw(ctx, [code, fault]) {
  const { day, say } = ctx;
  const piece = day.piece(code);
  const about = day.fault(fault);
  const how = field(say('mend_how'), { value: about.mend.slice(0, 200), maxlength: 200, rows: 3 });
  how.input.value = about.mend.slice(0, 200);
  const usual = MINUTES.find((each) => each >= (about.minutes ?? 5)) ?? MINUTES.at(-1);
  const minutes = choices(say('mend_minutes'), 'minutes', MINUTES.map((each) => ({ value: String(each), text: String(each) })), String(usual));
  return [
    h('h1', {}, say('mended_here')),
    h('p', {}, tag(code), ' ', mark('wants', 'fault', about.name)),
    cautions([about.never_mend, ...day.cautions(piece.kind)].filter(Boolean), say('take_care')),
    about.released_by !== 'mender' && h('p', {}, mark('wants', 'partial', say(`released_by_${about.released_by}`))),
    how.box,
    minutes.box,
    h('div', { class: 'stack' }, button(say('is_mended'), () => {
      const method = how.input.value.trim();
      if (!method) return ctx.tell.no(say('say_how'));
      return ctx.record(drafts.mended(piece, { fault, method, minutes: Number(minutes.value()) }), say('said_mended', { tag: code }), { home: true });
    }, { main: true, name: 'mend' })),
  ];
}
