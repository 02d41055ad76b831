// Listens to the whole page: a scan counts wherever the focus is.
//
// A wedge scanner types like a keyboard, only faster, and ends with Enter, Tab or nothing. On the bare page whatever
// ends with Enter is a scan, and what a hand types without one moves into the find field. In a field, keys stay where
// they are typed, unless they came at a scanner's speed and read as a code.

export const PAUSE = 80; // ms without a key: a scanner has finished, a hand has only begun
const STUTTER = 1000; // ms in which a scan that halted half-way, its first half in the find field, is still one
const SHORTEST_CODE = 7;
const STRAY_ENTER = 120; // ms after a scan in which a further Enter (carriage return, line feed) is the scanner's
const FIELDS = 'input, textarea, select, [contenteditable]';
const ENDS = new Set(['Enter', 'Tab']);

// `on.scan(text, at)`, `on.key(name, at)` for the function keys in `keys`, `on.digit(digit)` answers whether it was
// wanted; `isCode(text)` whether a text is or was meant to be a code; `find` is the field that takes loose typing.
export function listen(page, { keys, isCode, find, on }) {
  let text = '';
  let last = -Infinity;
  let scanned = -Infinity;
  let loosened = -Infinity;
  let before = null;
  let timer = null;

  page.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
    const at = performance.timeOrigin + event.timeStamp;
    const field = event.target.closest?.(FIELDS) ?? null;
    if (event.key in keys) press(event, at);
    else if (ENDS.has(event.key)) end(event, field, at);
    else if ([...event.key].length === 1) type(event, field, at);
  }, { capture: true });

  function press(event, at) {
    event.preventDefault();
    if (!event.repeat) on.key(keys[event.key], at);
  }

  function type(event, field, at) {
    if (field && (text === '' || at - last > PAUSE)) {
      text = '';
      before = { field, value: field.value };
    }
    if (!field && text === '' && event.key === ' ') return;
    if (!field) event.preventDefault();
    text += event.key;
    last = at;
    clearTimeout(timer);
    timer = setTimeout(pause, PAUSE, field, at);
  }

  function end(event, field, at) {
    const typed = take();
    const stray = typed === '' && at - scanned < STRAY_ENTER;
    const whole = field === find && isCode(find.value);
    const ours = typed !== '' && (!field || looksScanned(typed));
    if (stray || whole || ours) swallow(event);
    if (whole) wholeField(at);
    else if (ours) scan(typed, field, at);
  }

  function pause(field, at) {
    const typed = take();
    if (looksScanned(typed)) scan(typed, field, at);
    else if (field === find && at - loosened < STUTTER && looksScanned(find.value)) wholeField(at);
    else if (!field && !(typed.length === 1 && on.digit(typed))) loose(typed, at);
  }

  const looksScanned = (typed) => typed.length >= SHORTEST_CODE && isCode(typed);

  function take() {
    clearTimeout(timer);
    const taken = text;
    text = '';
    return taken;
  }

  function scan(typed, field, at) {
    scanned = at;
    if (field && before?.field === field) change(field, before.value);
    on.scan(typed, at);
  }

  // The find field holds a code, typed by hand or by a scanner that stuttered.
  function wholeField(at) {
    const typed = find.value;
    change(find, '');
    find.blur();
    scan(typed, null, at);
  }

  function loose(typed, at) {
    loosened = at;
    find.focus();
    change(find, find.value + typed);
  }
}

function change(field, value) {
  if (field.value === value) return;
  field.value = value;
  field.dispatchEvent(new Event('input', { bubbles: true }));
}

function swallow(event) {
  event.preventDefault();
  event.stopPropagation();
}
