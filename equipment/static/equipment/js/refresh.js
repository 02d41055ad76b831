// Keeps an element fresh with the same partial that the page rendered.
//   data-refresh-url      answers that partial, and nothing round it
//   data-refresh-seconds  how often, while the page is looked at
//   data-refresh-stale    what to say when it has not come for three turns: "Not fresh since {time}."

const TURNS_UNTIL_STALE = 3;

// What to do at this moment: 'wait' (nobody looks, or too early) or 'fetch'. Times in milliseconds.
export function turn({ now, tried, every, hidden }) {
  return hidden || now - tried < every ? 'wait' : 'fetch';
}

export function isStale({ now, fresh, every }) {
  return now - fresh > TURNS_UNTIL_STALE * every;
}

export function mount(element) {
  const every = Number(element.dataset.refreshSeconds) * 1000;
  if (!(every >= 1000)) throw new Error('data-refresh-seconds must be a number, 1 or more.');
  const warning = staleWarning(element);
  const state = { fresh: Date.now(), tried: Date.now() };

  async function look() {
    if (!element.isConnected) return clearInterval(timer);
    const now = Date.now();
    if (turn({ ...state, now, every, hidden: document.hidden }) === 'fetch' && !isBeingFilledIn(element)) {
      state.tried = now;
      const html = await fetchPartial(element.dataset.refreshUrl);
      if (html !== null) {
        state.fresh = Date.now();
        replace(element, html);
      }
    }
    if (!document.hidden) warning.show(isStale({ now: Date.now(), fresh: state.fresh, every }), state.fresh);
  }

  const timer = setInterval(look, Math.min(every, 1000));
  document.addEventListener('visibilitychange', look);
}

// null where the network, the server or a lost login stands in the way: what shows stays, and grows stale.
async function fetchPartial(url) {
  try {
    const answer = await fetch(url, { headers: { Accept: 'text/html' }, redirect: 'error', cache: 'no-store' });
    return answer.ok ? await answer.text() : null;
  } catch {
    return null;
  }
}

function replace(element, html) {
  if (html === element.lastHtml) return;
  const focused = element.contains(document.activeElement) ? document.activeElement : null;
  const path = focused && (focused.id ? `#${CSS.escape(focused.id)}` : `[href="${CSS.escape(focused.getAttribute('href') ?? '')}"]`);
  const open = [...element.querySelectorAll('details[open][id]')].map((each) => each.id);
  element.innerHTML = html;
  element.lastHtml = html;
  for (const id of open) element.querySelector(`#${CSS.escape(id)}`)?.setAttribute('open', '');
  if (path) element.querySelector(path)?.focus({ preventScroll: true });
  element.dispatchEvent(new CustomEvent('content-replaced', { bubbles: true }));
}

const isBeingFilledIn = (element) => element.contains(document.activeElement)
  && document.activeElement.matches('input, select, textarea');

function staleWarning(element) {
  const line = document.createElement('p');
  line.className = 'stale';
  line.setAttribute('role', 'status');
  element.before(line);
  return {
    show(stale, fresh) {
      const time = new Date(fresh).toLocaleTimeString(document.documentElement.lang, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' });
      const words = stale ? (element.dataset.refreshStale ?? '').replace('{time}', time) : '';
      if (line.textContent !== words) line.textContent = words;
    },
  };
}
