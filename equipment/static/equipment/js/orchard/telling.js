// What was just done, or why it was not: one strip above the bar, a sound, and one way to take it back.

import { play } from '../sounds.js';
import { h, icon } from './dom.js';

const SOUND_OF = { yes: 'yes', no: 'no', note: 'note', time: 'time' };
const ICON_OF = { yes: 'yes', no: 'no', note: 'note', time: 'clock' };

// What was told longer ago than this goes when another screen comes.
const OLD = 1500;

export function createTelling(strip, { say, takeBack }) {
  let at = 0;

  function tell(outcome, text, { more = '', undo = null } = {}) {
    strip.dataset.outcome = outcome;
    strip.replaceChildren(
      icon(ICON_OF[outcome]),
      h('p', {}, h('b', {}, text), more && h('span', {}, ` ${more}`)),
      undo ? h('button', { class: 'button', onclick: () => takeBack(undo) }, say('take_back')) : h('button', { class: 'button', onclick: hush }, say('all_right')),
    );
    strip.hidden = false;
    at = performance.now();
    play(SOUND_OF[outcome]);
  }

  function hush() {
    strip.hidden = true;
    strip.replaceChildren();
  }

  return {
    old: () => performance.now() - at > OLD && hush(),
    // `act` is the entries of what was done.
    done: (text, act, more = '') => tell('yes', text, { undo: act, more }),
    no: (text, more = '') => tell('no', text, { more }),
    note: (text, more = '') => tell('note', text, { more }),
    timeUp: (text, more = '') => tell('time', text, { more }),
  };
}
