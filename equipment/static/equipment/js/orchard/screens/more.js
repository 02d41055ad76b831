// Everything that is not done every hour.

import { cookie } from '../../counter/talk.js';
import { mount as askBeforeLeaving } from '../../sign-out.js';
import { button, h } from '../dom.js';

export function draw(ctx) {
  const { say } = ctx;
  const to = (name, icon, ...args) => button(say(`more_${name}`), () => ctx.go(name, ...args), { name: icon });
  return [
    h('h1', {}, say('more')),
    h('div', { class: 'stack' }, to('morning', 'inspect'), to('plan', 'note'), to('baths', 'bath'), to('knockoff', 'back'), to('lost', 'missing'), to('last', 'undo'), to('crews', 'crew'), to('phone', 'queue')),
    signOut(ctx),
    h('p', { class: 'quiet' }, say('more_safety')),
    h('p', {}, h('a', { class: 'back', href: ctx.given.urls.board }, say('to_the_board'))),
  ];
}

// As on every other page; only that the page is kept for anybody, so that it is told here who goes, and that it asks from
// the first moment on: a form that is sent without a line would take the page away.
function signOut({ say, here, tell }) {
  const form = document.querySelector('[data-slot="sign-out"]').content.firstElementChild.cloneNode(true);
  form.dataset.user = here.user.id;
  form.removeAttribute('data-module');
  askBeforeLeaving(form);
  form.append(h('input', { type: 'hidden', name: 'csrfmiddlewaretoken', value: cookie('csrftoken') }));
  form.addEventListener('no-line', () => tell.no(say('sign_out_no_line'), say('sign_out_no_line_more')));
  return form;
}
