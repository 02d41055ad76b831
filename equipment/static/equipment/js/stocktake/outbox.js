// Scans that the book has not answered yet, kept in the browser's storage so that a reload or a cut line loses none.
// Each has a row of its own, so two windows never overwrite each other; it leaves on the answer for its own id.

const PREFIX = 'stocktake-scan:';

export function createOutbox(storage, stocktake, user) {
  const rows = () => Object.keys(storage)
    .filter((key) => key.startsWith(PREFIX))
    .map((key) => JSON.parse(storage.getItem(key)))
    .filter((row) => row.stocktake === stocktake);

  return {
    // Throws where the storage is full. A scan: {id, text, at}.
    keep: (scan) => storage.setItem(PREFIX + scan.id, JSON.stringify({ ...scan, stocktake, user })),
    drop: (id) => storage.removeItem(PREFIX + id),
    has: (id) => storage.getItem(PREFIX + id) !== null,
    // This person's, the oldest first: ids are made in order of time.
    mine: () => rows()
      .filter((row) => row.user.id === user.id)
      .sort((one, other) => (one.id < other.id ? -1 : 1))
      .map(({ id, text, at }) => ({ id, text, at })),
    // Whose else, by name: theirs go when they sign in again.
    ofOthers: () => [...new Set(rows().filter((row) => row.user.id !== user.id).map((row) => row.user.name))],
  };
}
