// One request to the server, and what became of it. Only what Shedbook itself said, in JSON, is an answer:
//   {data, off}               it answered; `off`: what to add to this phone's clock, in ms, or null
//   {why: 'same'}             not modified since
//   {why: 'too_large'}        413: send less at once
//   {why: 'unread', code, say}  it could not read the request
//   {why: 'signed_out'}       401 or 403: someone must sign in first
//   {why: 'busy', wait}       429 or 503: try again after `wait` ms (null where it does not say)
//   {why: 'unreachable'}      no line, no answer in time, a fault on its side, or a page of somebody else's in its place

import { cookie } from '../counter/talk.js';

const PATIENCE = 20_000;
const UNREACHABLE = { why: 'unreachable' };

// `body`: a string (JSON) or a Blob; none asks by GET.
export async function ask(url, { method, body, headers = {}, patience = PATIENCE, fetch = window.fetch.bind(window) } = {}) {
  const sent = { Accept: 'application/json', ...headers };
  if (body !== undefined) sent['X-CSRFToken'] = cookie('csrftoken');
  if (typeof body === 'string') sent['Content-Type'] = 'application/json';
  const from = Date.now();
  try {
    const answer = await fetch(url, {
      method: method ?? (body === undefined ? 'GET' : 'POST'),
      headers: sent,
      body,
      redirect: 'manual',
      cache: 'no-store',
      signal: AbortSignal.timeout(patience),
    });
    return await read(answer, from);
  } catch {
    return UNREACHABLE;
  }
}

async function read(answer, from) {
  const { status } = answer;
  if (status === 413) return { why: 'too_large' };
  if (status === 429 || status === 503) return { why: 'busy', wait: wait(answer.headers.get('Retry-After'), Date.now()) };
  if (status === 304) return { why: 'same' };
  // A page that wants a password of its own, or a login page after a redirect, is no answer.
  if (!/^application\/(?:\w+\+)?json\b/.test(answer.headers.get('Content-Type') ?? '')) return UNREACHABLE;
  const data = await answer.json();
  if (data === null || typeof data !== 'object') return UNREACHABLE;
  if (answer.ok) return { data, etag: answer.headers.get('ETag'), off: off(answer, from) };
  if (status === 401 || status === 403) return { why: 'signed_out' };
  const ours = [400, 404, 410].includes(status) && typeof data.code === 'string';
  return ours ? { why: 'unread', code: data.code, say: data.say ?? '' } : UNREACHABLE;
}

// `Retry-After` (RFC 9110, section 10.2.3) in ms from `now`: seconds, or a date. Null where it says nothing.
export function wait(text, now) {
  if (!text?.trim()) return null;
  if (/^\d+$/.test(text.trim())) return Number(text) * 1000;
  const date = Date.parse(text);
  return Number.isNaN(date) ? null : Math.max(0, date - now);
}

// The server's Date against this clock in the middle between asking and answer; it counts whole seconds.
function off(answer, from) {
  const there = Date.parse(answer.headers.get('Date') ?? '');
  return Number.isNaN(there) ? null : Math.round(there + 500 - (from + Date.now()) / 2);
}
