// The morning check: who is here, who is lent, and the points of the list. Counts, never names.

import { check } from '../../domain/checklist.js';
import { button, cautions, choices, field, h, mark } from '../dom.js';
import * as drafts from '../drafts.js';

export const still = true;
const PRESENT = 'present';

export function draw(ctx) {
  const { day, say } = ctx;
  const absent = new Set(day.absent());
  const toggle = (badge) => {
    day.setAbsent(absent.has(badge) ? [...absent].filter((each) => each !== badge) : [...absent, badge]);
    ctx.redraw();
  };
  const done = day.sheet().state.checked_at;
  return [
    h('h1', {}, say('morning')),
    done && ctx.times().day(Date.parse(done)) === ctx.times().day(day.now()) && h('p', {}, mark('yes', 'yes', say('checked_at', { time: ctx.times().time(Date.parse(done)) }))),
    h('h2', {}, say('who_is_here')),
    h('p', {}, say('press_absent')),
    h('div', { class: 'numbers' }, day.people().map((person) => numberButton(ctx, person, absent.has(person.badge), toggle))),
    h('details', {}, h('summary', { class: 'button' }, say('lent')), h('p', {}, say('lent_help')), h('div', { class: 'numbers' }, day.others().filter((each) => each.badge).map((person) => button(person.number, () => ctx.record(drafts.joined(day.code(), person.badge), say('said_joined', { number: person.number })), { key: `lent-${person.badge}` })))),
    h('h2', {}, say('points')),
    points(ctx),
  ];
}

// Somebody's card, here: they are lent to us.
export function scan(ctx, args, read) {
  const person = read.what === 'badge' ? ctx.day.others().find((each) => each.badge === read.code) : null;
  if (!person) return false;
  ctx.record(drafts.joined(ctx.day.code(), person.badge), ctx.say('said_joined', { number: person.number }));
  return true;
}

function numberButton(ctx, person, away, toggle) {
  const words = ctx.say(away ? 'absent' : 'here');
  return h('button', { type: 'button', class: `button${away ? ' button-wants' : ''}`, key: `here-${person.badge}`, disabled: !person.badge, onclick: () => toggle(person.badge) }, h('span', { class: 'button-say' }, person.number, h('small', {}, words)));
}

function crops(day) {
  const blocks = day.sheet().plans.filter((plan) => plan.date === day.today() && plan.state !== 'cancelled').map((plan) => day.block(plan.block)?.crop ?? '');
  return blocks.map((crop) => crop.toLowerCase());
}

function points(ctx) {
  const { day, say } = ctx;
  const list = day.sheet().checklists.find((each) => each.code === 'morning')?.points ?? [];
  const asked = list.filter((point) => point.crops.length === 0 || point.crops.some((crop) => crops(day).includes(crop)));
  const kit = new Map(day.rules.crewKit(day.sheet(), day.today(), day.present().length).lines.map((line) => [line.kind, line.quantity]));
  const fields = asked.map((point) => [point, ask(ctx, point, kit)]);
  const write = () => {
    const answers = Object.fromEntries(fields.map(([point, one]) => [point.code, one.value()]));
    const wrong = check(asked, answers, crops(day));
    const first = asked.find((point) => wrong.missing.includes(point.code) || wrong.wrong.includes(point.code));
    if (first) {
      fields.find(([point]) => point === first)[1].box.scrollIntoView({ block: 'center' });
      return ctx.tell.no(say(wrong.missing.includes(first.code) ? 'not_answered' : 'not_a_number', { ask: first.ask }));
    }
    return ctx.record(drafts.morningChecked(day.code(), answers), say('said_checked'), { home: true });
  };
  return [
    cautions([say('wounds'), say('heat')], say('take_care')),
    fields.map(([, one]) => one.box),
    h('div', { class: 'stack' }, button(say('write_check'), write, { main: true, name: 'yes' })),
  ];
}

// One point as a field: {box, value()}; null where nothing was answered.
function ask(ctx, point, kit) {
  const { say } = ctx;
  const limits = point.per_kit && kit.has(point.per_kit) ? say('kit_asks', { n: kit.get(point.per_kit) }) : '';
  if (point.answer === 'yes_no') return choices(point.ask, point.code, [{ value: 'yes', text: say('yes') }, { value: 'no', text: say('no') }], null);
  if (point.answer === 'choice') return choices(point.ask, point.code, point.choices.map((each) => ({ value: each, text: each })), null);
  const start = point.code === PRESENT ? String(ctx.day.present().length) : '';
  const one = field(point.unit ? `${point.ask} (${point.unit})` : point.ask, { inputmode: point.unit === '°C' ? 'text' : 'decimal', value: start }, limits);
  return { box: one.box, value: () => (one.input.value.trim() ? numberOf(one.input.value) : null) };
}

function numberOf(text) {
  const found = Number(text.trim().replace(',', '.'));
  return Number.isFinite(found) ? found : text;
}
