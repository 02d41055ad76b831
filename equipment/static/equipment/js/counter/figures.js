// How far the crew of whoever stands here is: served, still to come, absent. Asked once the queue is quiet.

const QUIET = 400;

export function createFigures(target, url, talkHtml) {
  let timer = null;
  let wanted = null;

  async function load(code) {
    const html = await talkHtml(url.replace('CODE', code));
    if (html !== null && wanted === code) target.innerHTML = html;
  }

  return {
    show(crew) {
      if (!crew) return;
      wanted = crew.code;
      clearTimeout(timer);
      timer = setTimeout(load, QUIET, crew.code);
    },
  };
}

// The partial as the page would have it; null where it cannot be had: what shows stays.
export async function fetchHtml(url) {
  try {
    const answer = await fetch(url, { redirect: 'manual', cache: 'no-store' });
    return answer.ok ? await answer.text() : null;
  } catch {
    return null;
  }
}
