// What is in a bath now: kept on the phone, so that a reload or a killed browser loses no piece and no minute.

import { createGroups, lasted, left } from '../wash/groups.js';

const HIDDEN = 1000; // ms between two looks at the clock

export { lasted, left };

// `on.ring(group)` when the time of one has run out; `on.tick(groups, now)` every second.
export function createDips(storage, key, on) {
  const groups = createGroups(storage, key);

  // `way`: {code: the bath, name, recipe, needs: seconds, method}; `scanned`: each piece was scanned.
  function put(way, pieces, scanned, at) {
    let group = null;
    for (const piece of pieces) group = groups.add(way, piece, at);
    group.scanned = scanned;
    groups.close(group);
    return group;
  }

  function tick() {
    const now = Date.now();
    for (const group of groups.all()) {
      if (group.rang || group.way.needs === 0 || left(group, now) > 0) continue;
      group.rang = true;
      groups.save();
      on.ring(group);
    }
    on.tick(groups.all(), now);
  }

  setInterval(tick, HIDDEN);
  return { all: groups.all, put, remove: groups.remove, ask: (group) => Object.assign(group, { early: true }), tick };
}
