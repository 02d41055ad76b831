// Scanner, typing and camera: three ways in, one function out.

import { listen } from '../counter/keys.js';
import { createRepeats } from '../counter/queue.js';
import { isCode } from './reader.js';

// `on.scan(text)`; `say`; `load()` resolves to the camera's module (it comes only when it is asked for).
export function createScanning(root, { say, on, load = () => import('./camera.js') }) {
  const slot = (name) => root.querySelector(`[data-slot="${name}"]`);
  const panel = slot('scan-panel');
  const field = panel.querySelector('input');
  const seen = createRepeats();
  let camera = null;
  let opening = false;

  listen(document, { keys: {}, isCode, find: field, on: { scan: (text) => scanned(text), key() {}, digit: () => false } });
  panel.addEventListener('submit', (event) => {
    event.preventDefault();
    const text = field.value.trim();
    field.value = '';
    if (text) scanned(text);
  });
  // Typed on the bare page: the panel comes up with what was typed.
  field.addEventListener('input', () => {
    if (panel.hidden && field.value) open({ withCamera: false });
  });
  slot('scan-close').addEventListener('click', close);
  slot('torch').addEventListener('click', torch);
  slot('camera').addEventListener('click', startCamera);
  document.addEventListener('visibilitychange', () => document.hidden && stopCamera());

  function scanned(text) {
    close();
    on.scan(text);
  }

  function open({ withCamera = true } = {}) {
    panel.hidden = false;
    if (withCamera) startCamera();
    else field.focus();
  }

  function close() {
    if (panel.contains(document.activeElement)) document.activeElement.blur();
    panel.hidden = true;
    field.value = '';
    stopCamera();
  }

  async function startCamera() {
    if (camera || opening) return;
    opening = true;
    tellCamera(say('camera_opening'));
    try {
      const { openCamera } = await load();
      const opened = await openCamera({ video: slot('video'), onCode: fromCamera, words: { label: say('camera_label') } });
      if (panel.hidden) return opened.close();
      camera = opened;
      slot('video').hidden = false;
      slot('camera').hidden = true;
      tellCamera(say('camera_on'));
      slot('torch').hidden = typeof camera.torch !== 'function';
    } catch (failure) {
      tellCamera(say(`camera_${['refused', 'absent', 'insecure', 'no_decoder'].includes(failure?.why) ? failure.why : 'failed'}`));
      slot('camera').hidden = failure?.why !== 'refused';
      field.focus();
    } finally {
      opening = false;
    }
  }

  function fromCamera(text) {
    if (!seen.isRepeat(text, Date.now(), false)) scanned(text);
  }

  function stopCamera() {
    camera?.close();
    camera = null;
    slot('video').hidden = true;
    slot('torch').hidden = true;
    slot('torch').setAttribute('aria-pressed', 'false');
    slot('camera').hidden = false;
    tellCamera('');
  }

  async function torch() {
    const on = slot('torch').getAttribute('aria-pressed') !== 'true';
    await camera?.torch?.(on);
    slot('torch').setAttribute('aria-pressed', String(on));
  }

  function tellCamera(text) {
    slot('camera-say').textContent = text;
  }

  return { open, close, isOpen: () => !panel.hidden };
}
