// This phone: what is not sent, what was refused and why, what the phone keeps; sending now, and a file for the store.

import { button, h, mark } from '../dom.js';
import { called } from '../here.js';
import { told } from '../status.js';

export function draw(ctx) {
  const { say, here } = ctx;
  const status = ctx.box.status();
  const words = told(status, ctx.day.now(), { say, times: ctx.times() });
  return [
    h('h1', {}, say('more_phone')),
    here.revoked && h('p', {}, mark('wants', 'no', say('revoked'))),
    !here.enrolled && h('p', {}, mark('wants', 'label', say('not_enrolled'))),
    h('p', { class: 'lead' }, words.main),
    h('ul', { class: 'told-lines' }, h('li', {}, say('phone_line', words)), h('li', {}, say('phone_kept', words)), h('li', {}, ctx.sheetAge()), h('li', {}, say('signed_in_as', { name: called(here.user) }))),
    status.persisted === false && h('p', {}, say('kept_no_more')),
    h('div', { class: 'stack' }, button(say('send_now'), () => ctx.sendNow(), { main: true, name: 'out' }), button(say('fetch_sheets'), () => ctx.refresh(), { name: 'book' }), button(say('export'), () => ctx.exportFile(), { name: 'store', more: say('export_more') })),
    ctx.parked.length > 0 && [h('h2', {}, say('parked')), h('p', {}, say('parked_help')), h('ul', { class: 'told-lines' }, ctx.parked.map((row) => parked(ctx, row)))],
    ctx.others.length > 0 && [h('h2', {}, say('of_others')), h('ul', { class: 'told-lines' }, ctx.others.map((each) => h('li', {}, say('of_other', { name: called(each.user), n: each.count }))))],
    h('p', {}, h('a', { class: 'back', href: ctx.given.urls.login }, say('sign_in_again'))),
  ];
}

function parked(ctx, row) {
  const { say } = ctx;
  const act = { entries: [row.entry] };
  return h(
    'li',
    {},
    mark('wants', 'no', ctx.words(act)),
    ' ',
    h('span', {}, row.answer?.say || row.answer?.code || ''),
    row.own && h('div', { class: 'stack' }, button(say('try_again'), () => ctx.retry(row.id), { key: `retry-${row.id}` }), button(say('off_the_list'), () => ctx.putAway(row.id), { key: `away-${row.id}`, more: say('off_the_list_more') })),
  );
}
