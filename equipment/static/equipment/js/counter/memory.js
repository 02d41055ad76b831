// What a reload must not lose beside the outbox: the direction, who stands here, what undo takes back, who came back
// wet. It is this window's and this day's: a counter that was left open overnight begins anew.

const ACTS_KEPT = 50;
const today = () => new Date().toDateString();

export function createMemory(storage, { user, device }) {
  const key = `counter-state:${device}:${user.id}`;
  let day = today();

  return {
    save({ mode, holder, wet, lastCrew, done }) {
      const acts = done.slice(-ACTS_KEPT).map(({ entries, unchecked, ...act }) => ({
        ...act, unchecked: Array.from(unchecked ?? []), entries: entries.map(({ id, item, crew }) => ({ id, item, crew })),
      }));
      try {
        storage.setItem(key, JSON.stringify({ day, mode, holder, lastCrew, wet: Array.from(wet), done: acts }));
      } catch {
        // Full: a reload would forget, which is no reason to stop.
      }
    },

    // Puts back into `state` what was saved today; true where there was something.
    restore(state) {
      const saved = JSON.parse(storage.getItem(key) ?? 'null');
      if (saved?.day !== today()) return false;
      const done = saved.done.map((act) => ({ ...act, unchecked: new Set(act.unchecked) }));
      const { mode, holder, lastCrew } = saved;
      Object.assign(state, { mode, holder, lastCrew, done, wet: new Map(saved.wet) });
      return true;
    },

    // Yesterday's wet crews and acts are not today's.
    forgetYesterday(state) {
      if (day === today()) return;
      day = today();
      Object.assign(state, { holder: null, lastCrew: null, contested: null, choosing: null, last: null, faults: null, done: [] });
      state.wet.clear();
    },
  };
}
