// Signing out with something unsent on this phone asks first, and loses nothing. The form says whose (data-user), what
// (data-unsent, with %(count)s) and the button's word (data-yes); the question box is _partials/confirm.html.

import { ask } from './confirm.js';
import { fill } from './counter/answers.js';
import { unsentOf } from './orchard/unsent.js';

// Leaving for a page that cannot come would take this one away as well.
const hasLine = async (url) => (await (await import('./orchard/here.js')).whoIsHere(url)).line !== 'unreachable';

export function mount(form) {
  const box = document.getElementById('ask');
  let agreed = false;

  form.addEventListener('submit', async (event) => {
    if (agreed) return;
    event.preventDefault();
    const { submitter } = event;
    const { user, unsent, yes, here } = form.dataset;
    if (here && !(await hasLine(here))) return void form.dispatchEvent(new Event('no-line'));
    const count = await unsentOf(Number(user));
    if (count > 0 && box && !(await ask(box, fill(unsent, { count }), yes))) return;
    agreed = true;
    form.requestSubmit(submitter ?? undefined);
    agreed = false;
  });
}
