// One request to the server, and what became of it:
//   {data}                  it answered
//   {why: 'unreachable'}    no line, no answer in time, or a fault on its side: try again later
//                           `full`: because its disk is, so that somebody must be told
//   {why: 'signed_out'}     someone must sign in again first
//   {why: 'refused', say}   it could not read the request at all

const PATIENCE = 4000;

export async function talk(url, { body, patience = PATIENCE } = {}) {
  const headers = { Accept: 'application/json' };
  if (body !== undefined) headers['X-CSRFToken'] = cookie('csrftoken');
  if (typeof body === 'string') headers['Content-Type'] = 'application/json';
  try {
    const answer = await fetch(url, {
      method: body === undefined ? 'GET' : 'POST',
      headers,
      body,
      redirect: 'manual',
      cache: 'no-store',
      signal: AbortSignal.timeout(patience),
    });
    if (answer.type === 'opaqueredirect' || answer.status === 401 || answer.status === 403) return { why: 'signed_out' };
    if (answer.status === 503) return { why: 'unreachable', full: (await codeOf(answer)) === 'no_room' };
    if (answer.status >= 500 || answer.status === 429) return { why: 'unreachable' };
    const data = await answer.json();
    return answer.ok ? { data } : { why: 'refused', say: data.say ?? '' };
  } catch {
    return { why: 'unreachable' };
  }
}

// A proxy's 503 is no JSON.
const codeOf = (answer) => answer.json().then(({ code }) => code, () => '');

export const sendJson = (url, value, options = {}) => talk(url, { ...options, body: JSON.stringify(value) });
export const sendForm = (url, fields) => talk(url, { body: new URLSearchParams(fields) });

// The token changes when someone signs in, so it is read anew each time.
export function cookie(name) {
  const found = document.cookie.split('; ').find((pair) => pair.startsWith(`${name}=`));
  return found ? decodeURIComponent(found.slice(name.length + 1)) : '';
}
