// Says how many pieces are asked for the head-count, as it is typed into the field "present" of the same form.
//   data-steps   [[people, pieces], ...]: from so many people on so many pieces
//   data-words   "for {here} here: {asked} asked"

export function askedFor(here, steps) {
  return steps.reduce((asked, [least, pieces]) => (here >= least ? pieces : asked), 0);
}

export function mount(element) {
  const field = element.closest('form').elements.namedItem('present');
  const steps = JSON.parse(element.dataset.steps);
  field.addEventListener('input', () => {
    const here = Number(field.value);
    if (!Number.isInteger(here) || here < 1) return;
    element.textContent = element.dataset.words.replace('{here}', here).replace('{asked}', askedFor(here, steps));
  });
}
