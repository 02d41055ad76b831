// Keeps the page on the phone, and brings a new build of it when nobody is in the midst of something.
//
// The worker of a new build waits beside the old one. Told to take over, it does, and the page is loaded anew: what was
// recorded is on disk by then, and `idle` says whether anything is half done.

const LOOK_EVERY = 60 * 60 * 1000;
const TRY_EVERY = 20 * 1000;

/**
 * `idle()`: whether nothing is half done. `whenWaiting()` is called when a new build is ready.
 * @returns {{tryNow(): void}} to be called whenever something has been finished.
 */
export function keepShell({
  idle, whenWaiting = () => {}, url = '/sw.js', scope = '/orchard/',
  container = navigator.serviceWorker, reload = () => window.location.reload(),
}) {
  // Not over HTTPS: the page works, but only while there is a line.
  if (!container) return { tryNow() {} };
  let registration = null;
  let controlled = Boolean(container.controller);
  let reloadDue = false;

  function tryNow() {
    if (!idle()) return;
    if (reloadDue) {
      reloadDue = false;
      reload();
    } else if (controlled) registration?.waiting?.postMessage('take-over');
  }

  function waiting() {
    whenWaiting();
    tryNow();
  }

  function follow(worker) {
    worker?.addEventListener('statechange', () => worker.state === 'installed' && controlled && waiting());
  }

  function look() {
    // Without a line this fails, and is tried again.
    registration?.update().catch(() => {});
  }

  container.addEventListener('controllerchange', () => {
    // The first worker of all takes charge of a page that is its own build already.
    reloadDue = controlled;
    controlled = true;
    tryNow();
  });

  container.register(url, { scope, updateViaCache: 'none' }).then((found) => {
    registration = found;
    found.addEventListener('updatefound', () => follow(found.installing));
    follow(found.installing);
    if (found.waiting && controlled) waiting();
    document.addEventListener('visibilitychange', () => (document.hidden ? tryNow() : look()));
    window.addEventListener('online', look);
    setInterval(look, LOOK_EVERY);
    setInterval(tryNow, TRY_EVERY);
  }, () => {
    // A server that is away, or a network's own page in its place: the next start tries again.
  });

  return { tryNow };
}
