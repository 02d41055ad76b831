// Entries that the book has not answered yet, kept in the browser's storage so that a reload loses none.
//
// Each has a row of its own: two windows of one counter never overwrite each other. An entry is put here before it is
// sent and taken out only upon the answer for its own id. `waits` is set once a sending has failed; one that is
// neither answered nor waiting after a while belongs to a page that was closed meanwhile.

const PREFIX = 'counter-outbox:';
const ORPHANED_AFTER = 10_000;

export function createOutbox(storage, user) {
  const rows = () => Object.keys(storage)
    .filter((key) => key.startsWith(PREFIX))
    .map((key) => JSON.parse(storage.getItem(key)));

  const put = (row) => storage.setItem(PREFIX + row.entry.id, JSON.stringify(row));

  return {
    // Throws where the storage is full.
    keep(entry, now = Date.now()) {
      put({ entry, user, kept: now, waits: false });
    },
    letWait(entry) {
      put({ entry, user, kept: 0, waits: true });
    },
    drop(id) {
      storage.removeItem(PREFIX + id);
    },
    has: (id) => storage.getItem(PREFIX + id) !== null,

    // What this user has to send, in the order of its recording.
    waiting(now = Date.now()) {
      return rows()
        .filter((row) => row.user.id === user.id && (row.waits || now - row.kept > ORPHANED_AFTER))
        .map((row) => row.entry)
        .sort((one, other) => one.device_seq - other.device_seq);
    },

    // What other people left here: it goes when they sign in again. [{who, count}]
    ofOthers() {
      const counts = new Map();
      for (const row of rows()) {
        if (row.user.id !== user.id) counts.set(row.user.name, (counts.get(row.user.name) ?? 0) + 1);
      }
      return Array.from(counts, ([who, count]) => ({ who, count }));
    },
  };
}

// The device's own count. It follows the clock, so that a cleared storage or a second window does not begin again at 1.
export function createCount(storage, key = 'counter-seq') {
  let last = 0;
  return () => {
    last = Math.max(Date.now(), last + 1, Number(storage.getItem(key) ?? 0) + 1);
    try {
      storage.setItem(key, String(last));
    } catch {
      // Full: this window still counts on.
    }
    return last;
  };
}
