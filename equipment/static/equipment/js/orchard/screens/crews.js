// Another crew of the store: looked at, or taken over for the day.

import { button, h, mark } from '../dom.js';
import * as drafts from '../drafts.js';

export function draw(ctx) {
  const { day, say } = ctx;
  return [
    h('h1', {}, say('more_crews')),
    h('p', {}, say('crews_help')),
    h('div', { class: 'stack' }, day.crews().map((crew) => button(crew.name, () => ctx.chooseCrew(crew.code), { pressed: crew.code === day.code(), name: 'crew', more: say(crew.own ? 'own_crew' : 'other_crew'), key: crew.code }))),
    day.sheet() && !day.crews().find((crew) => crew.code === day.code())?.own && takeOver(ctx),
  ];
}

function takeOver(ctx) {
  const { day, say } = ctx;
  const yours = day.sheet().state.led_by === ctx.here.user.id;
  if (yours) return h('p', {}, mark('yes', 'yes', say('is_yours', { crew: day.name() })));
  return h('div', { class: 'stack' }, button(say('take_over', { crew: day.name() }), () => ctx.record(drafts.takenOver(day.code()), say('said_taken_over', { crew: day.name() }), { home: true }), { main: true, name: 'hands' }));
}
