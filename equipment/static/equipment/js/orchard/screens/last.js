// What was recorded on this phone today, the latest first; each of one's own can be taken back.

import { button, h, mark } from '../dom.js';
import { acts } from '../lines.js';

const SHOWN = 40;

export function draw(ctx) {
  const { day, say } = ctx;
  const found = acts(day.journal()).slice(0, SHOWN);
  return [
    h('h1', {}, say('more_last')),
    h('p', {}, say('last_help')),
    found.length === 0 && h('p', {}, say('nothing_recorded')),
    h('ul', { class: 'told-lines' }, found.map((act) => line(ctx, act))),
  ];
}

function line(ctx, act) {
  const { say } = ctx;
  const words = h(act.undone ? 's' : 'span', {}, `${ctx.times().moment(act.at, ctx.day.now())} ${ctx.words(act)}`);
  const state = act.undone ? say('taken_back') : act.parked ? say('is_parked') : act.waiting ? say('is_waiting') : say('is_in_book');
  const icon = act.undone ? 'undo' : act.parked ? 'partial' : act.waiting ? 'queue' : 'yes';
  return h('li', {}, words, ' ', mark(act.parked ? 'wants' : 'quiet', icon, state), act.own && !act.undone && !act.parked && h('div', { class: 'stack' }, button(say('take_back'), () => ctx.takeBack(act.entries), { name: 'undo', key: `back-${act.id}` })));
}
