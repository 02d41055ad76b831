// The phone's own database: what was recorded, photos on their way, crew sheets, and a few facts by name.
//
// `run(stores, mode, work)` resolves to what `work(transaction)` came to, once the transaction is complete and, as
// `durability: 'strict'` asks, on disk. It rejects, and nothing is written, with an error whose `why` is
//   'full'        no room is left on the phone
//   'no_storage'  the browser keeps nothing for this page (a private window, a policy)
//   'broken'      anything else

export const NAME = 'shedbook-orchard';
const VERSION = 1;

const STORES = {
  entries: { key: 'id', indexes: { status: 'status' } },
  photos: { key: 'sha256', indexes: { whose: ['user.id', 'status'] } },
  sheets: { key: 'code', indexes: {} },
  facts: { key: 'name', indexes: {} },
};

function upgrade(db) {
  for (const [name, { key, indexes }] of Object.entries(STORES)) {
    const store = db.createObjectStore(name, { keyPath: key });
    for (const [index, path] of Object.entries(indexes)) store.createIndex(index, path);
  }
}

function open(name, lost) {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(name, VERSION);
    request.onupgradeneeded = () => upgrade(request.result);
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      const db = request.result;
      // A page of another version wants in; or the browser took the connection away, as phones do in the background.
      db.onversionchange = () => {
        db.close();
        lost();
      };
      db.onclose = lost;
      resolve(db);
    };
  });
}

// What a request comes to. Inside a transaction await nothing else, or it ends.
export const asked = (request) => new Promise((resolve, reject) => {
  request.onsuccess = () => resolve(request.result);
  request.onerror = () => reject(request.error);
});

export function createDb(name = NAME) {
  let opening = null;
  const lost = () => {
    opening = null;
  };

  async function connection() {
    try {
      return await (opening ??= open(name, lost));
    } catch (error) {
      lost();
      throw failure(error, error?.name === 'QuotaExceededError' ? 'full' : 'no_storage');
    }
  }

  // A connection that is closing refuses at once, before anything is written, so that asking again is safe.
  async function begin(stores, mode) {
    for (let again = true; ; again = false) {
      const db = await connection();
      try {
        return db.transaction(stores, mode, { durability: 'strict' });
      } catch (error) {
        lost();
        if (!again || error.name !== 'InvalidStateError') throw failure(error);
      }
    }
  }

  async function run(stores, mode, work) {
    const transaction = await begin(stores, mode);
    return new Promise((resolve, reject) => {
      let result;
      let thrown = null;
      transaction.oncomplete = () => resolve(result);
      transaction.onabort = () => reject(failure(thrown ?? transaction.error));
      Promise.resolve().then(() => work(transaction)).then(
        (value) => {
          result = value;
        },
        (error) => {
          thrown = transaction.error ?? error;
          abort(transaction);
        },
      );
    });
  }

  return {
    run,
    // A fact by its name, null where there is none.
    fact: async (fact) => (await run(['facts'], 'readonly', (t) => asked(t.objectStore('facts').get(fact))))?.value ?? null,
    keep: (fact, value) => run(['facts'], 'readwrite', (t) => {
      t.objectStore('facts').put({ name: fact, value });
    }),
    async close() {
      const db = await opening;
      lost();
      db?.close();
    },
  };
}

function abort(transaction) {
  try {
    transaction.abort();
  } catch {
    // It has ended already.
  }
}

function failure(cause, why = cause?.name === 'QuotaExceededError' ? 'full' : 'broken') {
  if (cause?.why) return cause;
  return Object.assign(new Error(cause?.message || why, { cause }), { why });
}
