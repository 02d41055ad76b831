// How much of one person's is still unsent on this phone: entries and photos. For pages that have no outbox open.

import { NAME, asked, createDb } from './db.js';

// Looking makes no database where there is none; a browser that cannot list them is looked into all the same.
async function there() {
  try {
    return (await indexedDB.databases()).some(({ name }) => name === NAME);
  } catch {
    return true;
  }
}

// 0 as well where the browser does not let us look: nobody is kept from signing out.
export async function unsentOf(user) {
  if (!(await there())) return 0;
  const db = createDb();
  try {
    return await db.run(['entries', 'photos'], 'readonly', async (t) => {
      const rows = await asked(t.objectStore('entries').index('status').getAll('waiting'));
      const photos = await asked(t.objectStore('photos').index('whose').count([user, 'waiting']));
      return rows.filter((row) => row.user.id === user).length + photos;
    });
  } catch {
    return 0;
  } finally {
    await db.close().catch(() => {});
  }
}
