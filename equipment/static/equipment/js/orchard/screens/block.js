// Where the crew is: came into a block, stopped, left, picking again; and the plan.

import { button, field, h } from '../dom.js';
import * as drafts from '../drafts.js';
import { isToday } from './crew.js';

export const still = true;
const CAUSES = ['break', 'rain', 'heat', 'wind', 'wet_fruit', 'transport', 'other'];

export function draw(ctx) {
  const { day, say } = ctx;
  const at = day.now();
  const { last, open: unended } = day.visit();
  // Left open since yesterday: nobody is there any more, and may well come into that very block.
  const open = unended && isToday(ctx, last, at);
  const when = field(say('when_if_not_now'), { type: 'time' }, say('when_help'));
  const tell = (draft, words) => ctx.record(draft, words, when.input.value ? { at: ctx.times().at(when.input.value, at) } : {});
  const code = day.code();
  return [
    h('h1', {}, say('block')),
    h('p', { class: 'lead' }, open ? `${say('in_block', { block: last.block })} ${say('since', { time: ctx.times().moment(Date.parse(last.at), at), span: ctx.times().span(at - Date.parse(last.at)) })}` : last ? say('stopped_in', { block: last.block }) : say('in_no_block')),
    when.box,
    open && [h('h2', {}, say('stopped_picking')), h('div', { class: 'pair' }, CAUSES.map((cause) => button(say(`stop_${cause}`), () => tell(drafts.stopped(code, cause), say('said_stopped', { cause: say(`stop_${cause}`) })))))],
    unended && h('div', { class: 'stack' }, button(say('left_the_block'), () => tell(drafts.left(code), say('said_left', { block: last.block })), { name: 'out' })),
    !open && last && h('div', { class: 'stack' }, button(say('picking_again', { block: last.block }), () => tell(drafts.arrived(code, last.block), say('said_arrived', { block: last.block })), { main: true, name: 'orchard' })),
    h('h2', {}, say(open || last ? 'came_into_another' : 'came_into')),
    blocks(ctx, open ? last.block : null, (block) => tell(drafts.arrived(code, block), say('said_arrived', { block }))),
    h('h2', {}, say('plan')),
    h('div', { class: 'stack' }, button(say('plan_changed'), () => ctx.go('plan'), { name: 'note', more: planWords(ctx) })),
    visits(ctx, at),
  ];
}

// Those planned for today first; the others fold away.
function blocks(ctx, here, into) {
  const { day, say } = ctx;
  const planned = new Set(day.sheet().plans.filter((plan) => plan.date === day.today() && plan.state !== 'cancelled').map((plan) => plan.block));
  const all = day.sheet().blocks.filter((block) => block.code !== here);
  const one = (block) => button(block.code, () => into(block.code), { main: planned.has(block.code), more: [block.name, block.crop].filter(Boolean).join(', '), key: `block-${block.code}` });
  const first = all.filter((block) => planned.has(block.code));
  const rest = all.filter((block) => !planned.has(block.code));
  return [
    h('div', { class: 'pair' }, first.map(one)),
    rest.length > 0 && h('details', { open: first.length === 0 }, h('summary', { class: 'button' }, say('another_block')), h('div', { class: 'pair' }, rest.map(one))),
  ];
}

export function planWords({ day, say }) {
  const plans = day.sheet().plans.filter((plan) => plan.date === day.today() && plan.state !== 'cancelled');
  return plans.map((plan) => say(plan.clipped ? 'plan_clipped' : 'plan_snapped', { block: plan.block, part: say(`part_${plan.part}`) })).join('; ') || say('no_plan');
}

function visits(ctx, at) {
  const { day, say } = ctx;
  const today = day.sheet().state.visits.filter((visit) => ctx.times().day(Date.parse(visit.at)) === ctx.times().day(at));
  if (today.length === 0) return null;
  const words = (visit) => say(visit.until ? 'visit_was' : 'visit_is', { block: visit.block, from: ctx.times().time(Date.parse(visit.at)), until: visit.until ? ctx.times().time(Date.parse(visit.until)) : '', why: visit.cause ? say(`ended_${visit.cause}`) : '' });
  return [h('h2', {}, say('today')), h('ul', { class: 'told-lines' }, today.map((visit) => h('li', {}, words(visit))))];
}
