// The service worker of the orchard page. SHELL, written above by the server, says what the page is made of:
// {page, language, build, made: [address], files: {address: integrity}, decoderBuild, decoder: {address: integrity}}.
//
// It keeps the page, whole and of one build, and nothing else: no answer of the API, nothing about people. A new build
// waits beside the old one until the page says that nobody is in the midst of something.

const OURS = 'shedbook-';
const KEPT = OURS + SHELL.build;
const KEPT_DECODER = SHELL.decoderBuild && `${OURS}decoder-${SHELL.decoderBuild}`;
const LISTED = new Set([...SHELL.made, ...Object.keys(SHELL.files)]);

// Fetched as nobody: what is kept must not hold the name of whoever is signed in. In their language all the same.
async function fetched(address, options = { cache: 'reload' }) {
  const headers = { 'Accept-Language': SHELL.language };
  const answer = await fetch(address, { credentials: 'omit', headers, ...options });
  if (!answer.ok || answer.redirected) throw new Error(`${address}: ${answer.status}`);
  return answer;
}

// A file that the page has just loaded need not come twice: what it must be is known. Else past the browser's own cache.
function whole(address, integrity) {
  return fetched(address, { integrity }).catch(() => fetched(address, { integrity, cache: 'reload' }));
}

async function fill(name, addresses) {
  const cache = await caches.open(name);
  const get = ([address, integrity]) => (integrity ? whole(address, integrity) : fetched(address));
  await Promise.all(addresses.map(async (each) => cache.put(each[0], await get(each))));
}

// The server may have been upgraded between two of our requests: then this build is not whole, and the next one comes.
async function confirmBuild() {
  const script = await (await fetched('/sw.js')).text();
  if (!script.includes(`"build": "${SHELL.build}"`)) throw new Error('Another build is served by now.');
}

async function keepDecoder() {
  if (!KEPT_DECODER || (await caches.has(KEPT_DECODER))) return;
  try {
    await fill(KEPT_DECODER, Object.entries(SHELL.decoder));
  } catch {
    // The page works without; it is kept when the camera asks for it.
    await caches.delete(KEPT_DECODER);
  }
}

async function install() {
  try {
    await fill(KEPT, [...SHELL.made.map((address) => [address]), ...Object.entries(SHELL.files)]);
    await confirmBuild();
  } catch (error) {
    await caches.delete(KEPT);
    throw error;
  }
  await keepDecoder();
}

async function activate() {
  const gone = (await caches.keys()).filter((name) => name.startsWith(OURS) && ![KEPT, KEPT_DECODER].includes(name));
  await Promise.all(gone.map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function fromShell(request, address) {
  const kept = await (await caches.open(KEPT)).match(address);
  return kept ?? fetch(request);
}

async function fromDecoder(request, address) {
  const cache = await caches.open(KEPT_DECODER);
  const kept = await cache.match(address);
  if (kept) return kept;
  const answer = await whole(address, SHELL.decoder[address]);
  await cache.put(address, answer.clone());
  return answer;
}

// Where the browser can, it takes scripts and styles from the cache itself, without asking us for each.
function shortCut(event) {
  const source = { cacheName: KEPT };
  const folders = new Set(Object.keys(SHELL.files).map((address) => /^(.*\/(?:js|css)\/)/.exec(address)?.[1]).filter(Boolean));
  const routes = [...folders].map((folder) => ({ condition: { urlPattern: new URLPattern({ pathname: `${folder}*` }) }, source }));
  return event.addRoutes(routes).catch(() => {});
}

self.addEventListener('install', (event) => {
  if (event.addRoutes) event.waitUntil(shortCut(event));
  event.waitUntil(install());
});
self.addEventListener('activate', (event) => event.waitUntil(activate()));

self.addEventListener('message', (event) => {
  if (event.data === 'take-over') self.skipWaiting();
});

self.addEventListener('fetch', (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  if (request.method !== 'GET' || origin !== self.location.origin) return;
  if (request.mode === 'navigate' ? pathname === SHELL.page : LISTED.has(pathname)) {
    event.respondWith(fromShell(request, pathname));
  } else if (KEPT_DECODER && pathname in SHELL.decoder) {
    event.respondWith(fromDecoder(request, pathname));
  }
});
