// <button type="button" data-module="print"> prints the sheet as it shows.
export function mount(button) {
  button.addEventListener('click', () => window.print());
}
