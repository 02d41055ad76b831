// The supervisor's phone. It opens with what shows who has what; what writes, sends and scans comes when that shows.

import { createDb } from './orchard/db.js';

export async function mount(root) {
  const db = createDb();
  // Opened while the rest is on its way. Whoever reads of it next says what is wrong with it.
  db.fact('batches').catch(() => {});
  const { open } = await import('./orchard/opening.js');
  return open(root, db);
}
