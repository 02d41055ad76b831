// A field that takes several codes: a scanner's Enter puts a blank behind the code instead of sending the form.
export function mount(form) {
  form.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || !(field instanceof HTMLInputElement) || !field.classList.contains("code")) return;
    event.preventDefault();
    if (field.value && !field.value.endsWith(" ")) field.value += " ";
  });
}
