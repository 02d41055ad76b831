// The plan is changed where the crew works: snapped to clipped or back, another block; and the kit worked out anew.

import { button, choices, field, h, mark } from '../dom.js';
import * as drafts from '../drafts.js';
import { lacking } from '../lines.js';
import { planWords } from './block.js';

export const still = true;
const WHYS = ['weather', 'packhouse', 'fruit', 'kit', 'other'];

export function draw(ctx) {
  const { day, say } = ctx;
  const plans = day.sheet().plans.filter((plan) => plan.date === day.today() && plan.state !== 'cancelled');
  const why = choices(say('plan_why'), 'why', WHYS.map((each) => ({ value: each, text: say(`plan_why_${each}`) })), 'weather');
  const more = field(say('plan_why_more'), { maxlength: 300 });
  const words = () => [say(`plan_why_${why.value()}`), more.input.value.trim()].filter(Boolean).join(': ');
  const change = (plan, clipped, block) => ctx.record(
    drafts.replanned(day.code(), { date: plan.date, part: plan.part === 'day' ? null : plan.part, clipped, block, why: words() }),
    say(clipped ? 'said_clipped' : 'said_snapped', { block: block ?? plan.block }),
  );
  return [
    h('h1', {}, say('plan_changed')),
    h('p', { class: 'lead' }, planWords(ctx)),
    why.box,
    more.box,
    plans.map((plan) => h('div', { class: 'stack' }, button(say(plan.clipped ? 'now_snapped' : 'now_clipped', { block: plan.block, part: say(`part_${plan.part}`) }), () => change(plan, !plan.clipped, null), { main: true, name: 'note' }), moved(ctx, plan, change))),
    plans.length === 0 && unplanned(ctx, change),
    kit(ctx),
  ];
}

function moved(ctx, plan, change) {
  const blocks = ctx.day.sheet().blocks.filter((block) => block.code !== plan.block);
  return h('details', {}, h('summary', { class: 'button' }, ctx.say('other_block', { part: ctx.say(`part_${plan.part}`) })), h('div', { class: 'pair' }, blocks.map((block) => button(block.code, () => change(plan, plan.clipped, block.code), { key: `to-${plan.part}-${block.code}` }))));
}

function unplanned(ctx, change) {
  const { day, say } = ctx;
  const block = day.visit().last?.block;
  if (!block) return h('p', {}, say('plan_needs_block'));
  const plan = { date: day.today(), part: 'day', block };
  return h('div', { class: 'stack' }, button(say('now_clipped', { block, part: say('part_day') }), () => change(plan, true, block)), button(say('now_snapped', { block, part: say('part_day') }), () => change(plan, false, block)));
}

// What the plan as it stands asks for, and who lacks what of it.
function kit(ctx) {
  const { day, say } = ctx;
  const asked = (lines) => lines.map((line) => h('li', {}, say(line.need === 'required' ? 'kit_line' : 'kit_advised', { n: line.quantity, kind: day.kind(line.kind).name }), ' ', h('span', { class: 'quiet' }, line.why)));
  const one = day.people()[0];
  const crew = day.rules.crewKit(day.sheet(), day.today(), day.present().length);
  const lacks = day.present().map((person) => ({ person, lines: lacking(day, person.picker).filter((line) => line.need === 'required') })).filter(({ lines }) => lines.length > 0);
  return [
    h('h2', {}, say('kit_now')),
    one && h('ul', {}, asked(day.rules.kitOf(day.sheet(), one.picker, day.today()).lines)),
    crew.lines.length > 0 && [h('h2', {}, say('kit_crew')), h('ul', {}, asked(crew.lines))],
    crew.missing.length > 0 && h('p', {}, mark('wants', 'partial', say('crew_lacks', { what: crew.missing.map((line) => say('n_of', { n: line.quantity, kind: day.kind(line.kind).name })).join(', ') }))),
    h('h2', {}, say('who_lacks')),
    lacks.length === 0 ? h('p', {}, mark('yes', 'yes', say('nobody_lacks'))) : h('ul', { class: 'told-lines' }, lacks.map(({ person, lines }) => h('li', {}, h('a', { class: 'back', href: ctx.path('picker', person.picker) }, say('picker_lacks', { number: person.number, what: lines.map((line) => line.name).join(', ') }))))),
  ];
}
