// The outbox as a file that `manage.py import_outbox` reads: JSON Lines (UTF-8), so that of half a file each whole line
// still counts. The first says whose it is, the last how many there are:
//
//   {"outbox": 1, "device", "exported_at", "clock": ms to add to this phone's times or null, "entries": n, "photos": n}
//   {"entry": {as sent to the book}, "by": {"id", "initials"}, "store"}
//   {"photo": sha256, "type", "data": base64, "by": {"id", "initials"}}
//   {"end": {"entries": n, "photos": n}}

const CHUNK = 0x8000;

// Everybody's entries that the book has not answered or has refused, in the order of the device's count, and photos.
export function exported({ rows, photos, given, clock }) {
  const unsent = rows.filter((row) => row.status !== 'sent');
  const counts = { entries: unsent.length, photos: photos.length };
  const lines = [
    { outbox: 1, device: given.device, exported_at: new Date().toISOString(), clock, ...counts },
    ...unsent.map(({ entry, user, store }) => ({ entry, by: user, store })),
    ...photos.map(({ sha256, type, bytes, user }) => ({ photo: sha256, type, data: base64(bytes), by: user })),
    { end: counts },
  ];
  return new Blob(lines.map((line) => `${JSON.stringify(line)}\n`), { type: 'application/jsonl' });
}

function base64(bytes) {
  const all = new Uint8Array(bytes);
  let text = '';
  for (let from = 0; from < all.length; from += CHUNK) text += String.fromCharCode(...all.subarray(from, from + CHUNK));
  return btoa(text);
}
