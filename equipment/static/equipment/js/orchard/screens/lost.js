// What is lost: found again with one touch. A piece is marked lost on its own screen.

import { button, h } from '../dom.js';
import * as drafts from '../drafts.js';

export function draw(ctx) {
  const { day, say } = ctx;
  const lost = day.sheet().items.filter((item) => item.state.place === 'missing');
  return [
    h('h1', {}, say('more_lost')),
    h('p', {}, say('lost_help')),
    lost.length === 0 && h('p', {}, say('nothing_lost')),
    h('div', { class: 'stack' }, lost.map((item) => button(say('found_tag', { tag: item.tag, kind: day.kind(item.kind).name }), () => ctx.record(drafts.found(item, day.code()), say('said_found', { tag: item.tag })), { name: 'yes', more: say('lost_since', { time: ctx.times().moment(Date.parse(item.state.since), day.now()) }) }))),
  ];
}
