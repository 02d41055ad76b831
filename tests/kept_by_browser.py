"""All that a page's browser keeps for this origin: its databases, both stores, the caches."""

KEPT = """async () => {
  const read = (request) => new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  const plain = (key, value) => (value instanceof ArrayBuffer ? `bytes ${value.byteLength}` : value);
  const kept = { local: { ...localStorage }, session: { ...sessionStorage }, databases: {}, caches: {} };
  for (const { name } of await indexedDB.databases()) {
    const db = await read(indexedDB.open(name));
    kept.databases[name] = {};
    for (const store of db.objectStoreNames) {
      kept.databases[name][store] = await read(db.transaction(store).objectStore(store).getAll());
    }
    db.close();
  }
  for (const name of await caches.keys()) {
    const cache = await caches.open(name);
    for (const request of await cache.keys()) {
      const answer = await cache.match(request);
      const isText = !/wasm|png/.test(answer.headers.get('Content-Type'));
      kept.caches[`${name} ${request.url}`] = isText ? await answer.text() : '';
    }
  }
  return JSON.stringify(kept, plain);
}"""
