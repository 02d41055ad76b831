// Calibrating a scanner: whatever is scanned is shown key by key, with what is wrong about it and how to set it right.
// The words and what the symbols hold come from the page.

import { diagnose } from './calibrate/diagnose.js';
import { fill } from './counter/answers.js';
import { listenForFirstKey, play } from './sounds.js';

const QUIET = 700; // ms without a key: a scanner that halts is waited for
const AFTER_END = 200; // ms in which a second Enter is the scanner's
const OUTCOMES = { good: 'yes', wants: 'partial', unknown: 'note', stops: 'no' };
const slot = (root, name) => root.querySelector(`[data-slot="${name}"]`);

export function mount(root) {
  const { sheet, words, keyboards } = JSON.parse(document.getElementById('calibrate-script').textContent);
  listenForFirstKey();
  listen((strokes) => show(root, diagnose(strokes, sheet), { words, keyboards }));
  root.dataset.ready = 'true';
}

function listen(done) {
  let strokes = [];
  let timer = null;

  function finish() {
    const taken = strokes;
    strokes = [];
    if (taken.filter((stroke) => stroke.key.length === 1).length > 1) done(taken);
  }

  document.addEventListener('keydown', (event) => {
    const single = [...event.key].length === 1 || event.key === 'Dead';
    const ends = event.key === 'Enter' || event.key === 'Tab';
    // Before a scan Enter and Tab are a hand's, and so is anything with the key of the system.
    if (!(single || (ends && strokes.length > 0)) || event.metaKey) return;
    strokes.push(stroke(event));
    if (strokes.length > 1 || !(event.ctrlKey || event.altKey)) event.preventDefault();
    clearTimeout(timer);
    timer = setTimeout(finish, ends ? AFTER_END : QUIET);
  }, { capture: true });
}

function stroke(event) {
  const altgr = event.getModifierState('AltGraph') || (event.ctrlKey && event.altKey);
  return {
    key: event.key,
    at: event.timeStamp,
    altgr,
    ctrl: event.ctrlKey && !altgr,
    alt: event.altKey && !altgr,
    caps: event.getModifierState('CapsLock'),
  };
}

function show(root, { of, level, findings, marks }, { words, keyboards }) {
  const answer = root.querySelector('.answer');
  answer.dataset.outcome = OUTCOMES[level];
  slot(answer, 'say').textContent = words.levels[level];
  slot(answer, 'about').textContent = of ? words.names[of] : '';
  slot(answer, 'instead').hidden = true;
  play(OUTCOMES[level]);
  slot(root, 'findings').replaceChildren(...findings.map((each) => finding(root, each, words, keyboards)));
  slot(root, 'right').hidden = findings.length > 0;
  slot(root, 'keys').replaceChildren(...marks.map((mark) => key(root, mark, words)));
  slot(root, 'arrived').hidden = false;
  const line = of && root.querySelector(`[data-of="${of}"]`);
  if (line) {
    line.dataset.level = level;
    slot(line, 'stands').textContent = words.levels[level];
  }
}

function copy(root, name) {
  return slot(root, name).content.firstElementChild.cloneNode(true);
}

function finding(root, { code, level, ...values }, words, keyboards) {
  const line = copy(root, 'a-finding');
  const { scanner, computer } = values;
  const named = scanner ? { ...values, scanner: keyboards[scanner], computer: keyboards[computer] } : values;
  line.dataset.level = level;
  slot(line, 'say').textContent = fill(words.findings[code].say, named);
  slot(line, 'level').textContent = words.matters[level];
  slot(line, 'how').textContent = fill(words.findings[code].how, named);
  return line;
}

function key(root, { key: pressed, gap, should }, words) {
  const line = copy(root, 'a-key');
  slot(line, 'key').textContent = words.keys[pressed] ?? pressed;
  slot(line, 'should').textContent = should;
  slot(line, 'gap').textContent = gap === null ? '' : fill(words.gap, { ms: gap });
  line.classList.toggle('key-other', should !== '');
  return line;
}
