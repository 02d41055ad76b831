// A form that is answered as it is filled in: the element named by data-plan is taken anew from the page that the form
// would lead to. Without it, or without a line, the button does the same.

export function mount(form) {
  const plan = document.getElementById(form.dataset.plan);
  let asked = null;

  // What shows is of the form as it was: until the new answer is there nobody acts on it.
  async function ask() {
    asked?.abort();
    const mine = new AbortController();
    asked = mine;
    plan.inert = true;
    const address = `${form.action}?${new URLSearchParams(new FormData(form))}`;
    const html = form.checkValidity() ? await fetched(address, mine.signal) : null;
    if (mine.signal.aborted) return;
    show(html ?? '');
    plan.inert = false;
  }

  function show(html) {
    const found = new DOMParser().parseFromString(html, 'text/html').getElementById(plan.id);
    plan.replaceChildren(...(found?.childNodes ?? []));
    plan.dispatchEvent(new CustomEvent('content-replaced', { bubbles: true }));
  }

  form.addEventListener('change', ask);
  // Filled in before this was here, or put back by the browser.
  if (form.elements.kind.value && plan.childElementCount === 0) ask();
}

// null where something stands in the way.
async function fetched(address, signal) {
  try {
    const answer = await fetch(address, { headers: { Accept: 'text/html' }, redirect: 'error', signal });
    return answer.ok ? await answer.text() : null;
  } catch {
    return null;
  }
}
