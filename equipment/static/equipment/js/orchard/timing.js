// When to try sending: at the start, after each record, when the line or the page comes back, by a timer, by a button.

const SHORTEST_WAIT = 2_000;
const LONGEST_WAIT = 60_000;
const LONGEST_TOLD = 3_600_000; // a server that says "in a week" is asked in an hour
// Signed out: only a person can help, and these are what a person does.
const BY_A_PERSON = ['start', 'online', 'visible', 'asked'];

// `flush()` resolves to what it came to (see sending.js); `on(line, say)` is told of the line.
export function createTiming({ line: first, flush, on }) {
  let failures = 0;
  let timer = null;
  let line = first;
  let turns = 0;
  // As performance.now() counts: the phone's clock may be set back.
  let notBefore = 0;
  let wentAt = 0; // when the line was last heard to go

  function set(now, say = '') {
    line = now;
    on(line, say);
  }

  function again(ms) {
    clearTimeout(timer);
    timer = setTimeout(() => nudge('timer'), ms);
  }

  const backoff = () => Math.min(LONGEST_WAIT, SHORTEST_WAIT * 2 ** Math.min(failures, 10));

  function lost({ why, wait, say }) {
    const ms = why === 'busy' && wait !== null ? Math.min(wait, LONGEST_TOLD) : backoff();
    failures += 1;
    notBefore = why === 'busy' ? performance.now() + ms : 0;
    if (why === 'busy' || why === 'signed_out') set(why);
    else set(navigator.onLine === false ? 'offline' : 'unreachable', say);
    if (why !== 'signed_out') again(ms);
  }

  // Those who ask while a sending is under way share what it comes to: it counts once.
  async function now() {
    clearTimeout(timer);
    turns += 1;
    const turn = turns;
    const began = performance.now();
    // Where the phone's own storage fails nothing is lost that was there, and it is tried again.
    const came = await flush().catch(() => ({ why: 'unreachable' }));
    if (turn !== turns) return;
    // What was answered before the line went says nothing of it now.
    if (came.why === 'on' && wentAt > began) {
      lost({ why: 'unreachable' });
      return;
    }
    if (came.why !== 'on' && came.why !== 'revoked') {
      lost(came);
      return;
    }
    failures = 0;
    notBefore = 0;
    // That entries were taken does not say that the phone is no longer revoked; only being told who is here does.
    if (came.why === 'revoked' || came.sure || line !== 'revoked') set(came.why);
  }

  // Whether what has just happened is a reason to try.
  function worthIt(cause) {
    if (cause === 'asked' || cause === 'start') return true;
    if (line === 'signed_out') return BY_A_PERSON.includes(cause);
    if (performance.now() < notBefore) return false;
    return navigator.onLine !== false || cause === 'timer';
  }

  function nudge(cause) {
    if (worthIt(cause)) return now();
    if (navigator.onLine === false && line !== 'signed_out') set('offline');
    return Promise.resolve();
  }

  const online = () => nudge('online');
  const offline = () => {
    wentAt = performance.now();
    return nudge('offline');
  };
  const visible = () => document.visibilityState === 'visible' && nudge('visible');

  return {
    nudge,
    now: () => nudge('asked'),
    start() {
      window.addEventListener('online', online);
      window.addEventListener('offline', offline);
      window.addEventListener('pageshow', visible);
      document.addEventListener('visibilitychange', visible);
      nudge('start');
    },
    stop() {
      turns += 1; // what is under way has nobody to tell any more
      clearTimeout(timer);
      window.removeEventListener('online', online);
      window.removeEventListener('offline', offline);
      window.removeEventListener('pageshow', visible);
      document.removeEventListener('visibilitychange', visible);
    },
  };
}
