// Small things that this phone keeps for the day: which crew, who is absent (badges, never names), which bath was used.

export function createMemory(storage, { user, store }) {
  const key = `orchard-memory:${user}:${store}`;
  let kept = read();

  function read() {
    try {
      return JSON.parse(storage.getItem(key) ?? '{}');
    } catch {
      return {};
    }
  }

  function keep(changes) {
    kept = { ...kept, ...changes };
    try {
      storage.setItem(key, JSON.stringify(kept));
    } catch {
      // Full: known until the page closes.
    }
  }

  const dayKey = (crew, day) => `absent:${crew}:${day}`;

  return {
    crew: () => kept.crew ?? null,
    choose: (crew) => keep({ crew }),
    bath: () => kept.bath ?? null,
    lastBath: (bath) => keep({ bath }),
    absent: (crew, day) => kept[dayKey(crew, day)] ?? [],
    // Only today's are kept.
    setAbsent(crew, day, badges) {
      const others = Object.keys(kept).filter((name) => name.startsWith('absent:') && !name.endsWith(`:${day}`));
      keep({ ...Object.fromEntries(others.map((name) => [name, undefined])), [dayKey(crew, day)]: badges });
    },
  };
}
