// Five sounds that cannot be taken for one another with the eyes shut: they differ in direction, pitch and rhythm.
//   yes      two short notes, going up          no    one long low buzz, going down
//   partial  three even knocks on one pitch     note  one soft high tick
//   time     four long strokes of a bell, each dying away: a timer has run out
// [start s, length s, from Hz, to Hz, wave, loudness 0..1]
export const SOUNDS = {
  yes: [[0, 0.09, 660, 660, 'triangle', 0.7], [0.1, 0.16, 990, 990, 'triangle', 0.7]],
  no: [[0, 0.5, 180, 110, 'sawtooth', 0.6]],
  partial: [[0, 0.09, 392, 392, 'square', 0.4], [0.17, 0.09, 392, 392, 'square', 0.4], [0.34, 0.09, 392, 392, 'square', 0.4]],
  note: [[0, 0.06, 1320, 1320, 'sine', 0.5]],
  time: [[0, 0.45, 523, 520, 'sine', 0.8], [0.6, 0.45, 523, 520, 'sine', 0.8], [1.2, 0.45, 523, 520, 'sine', 0.8], [1.8, 0.45, 523, 520, 'sine', 0.8]],
};

// Browsers give sound only after a key or a touch, so the first of them makes it.
let context = null;

function wake() {
  const Audio = window.AudioContext ?? window.webkitAudioContext;
  if (!Audio) return;
  context ??= new Audio();
  if (context.state === 'suspended') context.resume();
}

export function listenForFirstKey(target = document) {
  for (const kind of ['keydown', 'pointerdown']) target.addEventListener(kind, wake, { capture: true });
}

// Plays one of SOUNDS and returns its length in seconds; 0 where there is no sound to be had (the words stand anyway).
export function play(name) {
  const tones = SOUNDS[name];
  if (!tones) throw new Error(`No sound is called "${name}".`);
  if (!context) return 0;
  for (const tone of tones) strike(context, tone);
  return Math.max(...tones.map(([start, length]) => start + length));
}

function strike(audio, [start, length, from, to, wave, loudness]) {
  const begin = audio.currentTime + start;
  const voice = audio.createOscillator();
  const volume = audio.createGain();
  voice.type = wave;
  voice.frequency.setValueAtTime(from, begin);
  voice.frequency.linearRampToValueAtTime(to, begin + length);
  volume.gain.setValueAtTime(0, begin);
  volume.gain.linearRampToValueAtTime(loudness, begin + 0.008);
  volume.gain.setValueAtTime(loudness, begin + length - 0.02);
  volume.gain.linearRampToValueAtTime(0, begin + length);
  voice.connect(volume).connect(audio.destination);
  voice.start(begin);
  voice.stop(begin + length);
}
