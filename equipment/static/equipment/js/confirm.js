// Asks before a form is sent. The form says what: data-confirm (the question) and data-confirm-yes (the button's word).
// The question box is _partials/confirm.html, once on a page.

export function mount(form) {
  const box = document.getElementById('ask');
  if (!box) throw new Error('This page has no question box (#ask).');
  let agreed = false;

  form.addEventListener('submit', (event) => {
    if (agreed) {
      agreed = false;
      return;
    }
    event.preventDefault();
    ask(box, form.dataset.confirm, form.dataset.confirmYes).then((yes) => {
      if (!yes) return;
      agreed = true;
      form.requestSubmit(event.submitter ?? undefined);
    });
  });
}

// Resolves to true only when the yes button was pressed; Escape and "No" are no.
export function ask(box, words, yesWord) {
  const yes = box.querySelector('[data-slot="yes"]');
  yes.dataset.plain ??= yes.textContent;
  yes.textContent = yesWord || yes.dataset.plain;
  box.querySelector('[data-slot="words"]').textContent = words;
  box.returnValue = 'no';
  box.showModal();
  return new Promise((resolve) => {
    box.addEventListener('close', () => resolve(box.returnValue === 'yes'), { once: true });
  });
}
