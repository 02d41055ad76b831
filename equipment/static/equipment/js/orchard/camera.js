// The camera: from what it sees to the text of the code in it.

import { createReader } from './decoder.js';

const WANTED = { audio: false, video: { facingMode: { ideal: 'environment' }, width: { ideal: 1280 }, height: { ideal: 720 } } };
const REFUSED = new Set(['NotAllowedError', 'SecurityError']);
// Between two looks: a hand moves a label no faster, and the phone stays cool.
const PAUSE = 80;
// A code that stays in the picture is told once; away for this long, it is told again.
const FORGOTTEN_AFTER = 1500;

class NoCamera extends Error {
  constructor(why, cause) {
    super(`The camera does not read: ${why}.`, { cause });
    this.why = why;
  }
}

// The words that `openCamera` rejects with, for what the browser said. Pure.
export const why = (error) => (REFUSED.has(error?.name) ? 'refused' : 'absent');

async function openStream(media) {
  // Without a secure context there is no mediaDevices at all.
  if (!globalThis.isSecureContext || !media?.getUserMedia) throw new NoCamera('insecure');
  try {
    return await media.getUserMedia(WANTED);
  } catch (error) {
    throw new NoCamera(why(error), error);
  }
}

async function reader(create, stream) {
  try {
    return await create();
  } catch (error) {
    release(stream);
    throw new NoCamera('no_decoder', error);
  }
}

function release(stream) {
  for (const track of stream.getTracks()) track.stop();
}

// Tells a text when it comes into the picture, not at every frame. Pure but for its memory.
export function createSeen() {
  let last = null;
  let at = -Infinity;
  return (text, now) => {
    const isNew = text !== last || now - at > FORGOTTEN_AFTER;
    [last, at] = [text, now];
    return isNew;
  };
}

function torchOf(track) {
  if (!track.getCapabilities?.().torch) return null;
  return (on) => track.applyConstraints({ advanced: [{ torch: on }] });
}

function watch(video, read, onCode) {
  const seen = createSeen();
  let open = true;

  async function look() {
    if (!open) return;
    try {
      const text = video.readyState >= HTMLMediaElement.HAVE_CURRENT_DATA && video.videoWidth ? await read(video) : null;
      if (open && text && seen(text, performance.now())) onCode(text);
    } catch (error) {
      // One picture that cannot be read is no reason to stop looking.
      console.debug(error);
    }
    if (open) setTimeout(look, PAUSE);
  }

  look();
  return () => {
    open = false;
  };
}

/**
 * Opens the camera at the back, shows it in `video` and calls `onCode(text)` for each code that comes into the picture.
 * `words` = {label}, what a screen reader calls the picture.
 * @returns {Promise<{close(): void, torch: ((on: boolean) => Promise<void>)|null}>} Rejects with an error whose `why` is
 * 'insecure' (not over HTTPS), 'refused', 'absent' (none, or another program has it) or 'no_decoder'.
 */
export async function openCamera({ video, onCode, words, media = navigator.mediaDevices, createReader: create = createReader }) {
  const stream = await openStream(media);
  const read = await reader(create, stream);
  video.setAttribute('aria-label', words.label);
  video.muted = true;
  video.playsInline = true;
  video.srcObject = stream;
  await video.play().catch(() => {});
  const stop = watch(video, read, onCode);
  return {
    torch: torchOf(stream.getVideoTracks()[0]),
    close() {
      stop();
      release(stream);
      video.srcObject = null;
    },
  };
}
