// The line that is always on the screen: what is not sent yet and for how long, whether there is a line, whether the
// phone keeps what is stored, what was parked.

import { icon } from './dom.js';

// {unsent, oldest (ms since 1970, or null), parked, photos, line, persisted} -> what to say. Pure.
export function told(status, now, { say, times }) {
  const waits = status.unsent + (status.photos ?? 0) > 0;
  const photos = status.photos ? say('status_photos', { n: status.photos }) : '';
  const unsent = status.unsent
    ? say('status_unsent', { n: status.unsent, age: status.oldest === null ? '' : times.span(now - status.oldest) })
    : photos ? '' : say('status_all_sent');
  return {
    main: [unsent, photos].filter(Boolean).join(' '),
    line: say(`line_${status.line}`),
    kept: say(status.persisted === true ? 'kept_yes' : status.persisted === false ? 'kept_no' : 'kept_unknown'),
    parked: status.parked ? say('status_parked', { n: status.parked }) : '',
    icon: status.line === 'on' ? 'online' : 'offline',
    calm: !waits || status.line === 'on',
    signIn: status.line === 'signed_out',
  };
}

export function createStatusLine(root, { say, times, send }) {
  const slot = (name) => root.querySelector(`[data-slot="${name}"]`);
  slot('send').addEventListener('click', send);

  function put(name, text) {
    if (slot(name).textContent !== text) slot(name).textContent = text;
  }

  return {
    show(status, now) {
      const words = told(status, now, { say, times: times() });
      put('status-main', words.main);
      put('status-line', words.line);
      put('status-kept', words.kept);
      put('status-parked', words.parked);
      slot('status-parked').hidden = !words.parked;
      root.dataset.calm = String(words.calm && !words.parked);
      root.dataset.unsent = String(status.unsent + (status.photos ?? 0));
      root.dataset.line = status.line;
      slot('status-icon').replaceChildren(icon(words.icon));
      slot('send').hidden = words.signIn;
      slot('sign-in').hidden = !words.signIn;
    },
  };
}
