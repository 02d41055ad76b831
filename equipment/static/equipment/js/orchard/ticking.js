// The minutes of the dips that show, every second: only the figures change under the thumb.

import { lasted, left } from './dips.js';

export function tickTimers(root, groups, now, ctx) {
  for (const group of groups) {
    const shown = root.querySelector(`[data-group="${group.id}"]`);
    if (!shown) continue;
    const over = left(group, now) === 0;
    shown.querySelector('.timer-left').textContent = over ? ctx.say('over_by', { time: ctx.times().countdown(Math.max(0, lasted(group, now) - group.way.needs) * 1000) }) : ctx.times().countdown(left(group, now));
    if (over && shown.dataset.state !== 'ready') ctx.redraw();
  }
}
