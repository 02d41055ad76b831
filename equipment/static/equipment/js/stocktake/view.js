// The stocktake as it shows: the answer to the last scan, and what waits for the line.

import { fill } from '../counter/answers.js';
import { element } from '../counter/view.js';
import { play } from '../sounds.js';

const slot = (root, name) => root.querySelector(`[data-slot="${name}"]`);

export function createView(root, words) {
  const answer = root.querySelector('.answer');

  return {
    answer({ outcome, say, tag = '', about = '', why = [], instead = '' }) {
      answer.dataset.outcome = outcome;
      for (const [name, text] of Object.entries({ say, tag, about, instead })) slot(answer, name).textContent = text;
      slot(answer, 'instead').hidden = !instead;
      slot(answer, 'why').replaceChildren(...why.map((text) => element('li', text)));
      slot(answer, 'why').hidden = why.length === 0;
      answer.classList.remove('is-new');
      answer.getBoundingClientRect();
      answer.classList.add('is-new');
      answer.scrollIntoView({ block: 'nearest', behavior: 'instant' });
      play(outcome);
    },
    waiting(count, why, others) {
      const line = root.querySelector('.connection');
      const own = count > 0 && why ? fill(why === 'signed_out' ? words.waiting_signed_out : words.waiting, { count }) : '';
      const theirs = others.length > 0 ? fill(words.of_others, { who: others.join(', ') }) : '';
      line.hidden = !own && !theirs;
      line.dataset.connection = own ? 'off' : 'on';
      slot(line, 'line').textContent = [own, theirs].filter(Boolean).join(' ');
      slot(line, 'retry').hidden = !own || why === 'signed_out';
      slot(line, 'sign-in').hidden = !own || why !== 'signed_out';
    },
    busy(count) {
      root.dataset.waiting = String(count);
    },
  };
}
