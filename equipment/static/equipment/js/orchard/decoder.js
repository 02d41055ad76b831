// Reads QR codes in what the camera sees: by the phone's own detector where that reads them, else by the decoder that
// was fetched when Shedbook was installed.

const FORMAT = 'qr_code';
const DECODER = new URL('../../decoder/', import.meta.url);
const OPTIONS = { formats: ['QRCode'], tryHarder: true, tryRotate: true, tryInvert: false, maxNumberOfSymbols: 1 };
// Pixels a side: the middle of the picture as it is, and then, as often, the whole of it, for a label held close.
const MIDDLE = 720;
const WHOLE = 1280;

// The picture's part to look at in its `turn`: [left, top, width, height, scale]. Pure.
export function part(width, height, turn) {
  if (turn % 2) {
    const scale = Math.min(1, WHOLE / Math.max(width, height));
    return [0, 0, width, height, scale];
  }
  const side = Math.min(width, height, MIDDLE);
  return [Math.floor((width - side) / 2), Math.floor((height - side) / 2), side, side, 1];
}

async function nativeReader(Detector) {
  // Some have the name and not the format.
  if (!Detector || !(await Detector.getSupportedFormats()).includes(FORMAT)) return null;
  const detector = new Detector({ formats: [FORMAT] });
  return async (video) => (await detector.detect(video))[0]?.rawValue ?? null;
}

async function fetchedReader(load) {
  const { prepareZXingModule, readBarcodes } = await load();
  // Told where its file lies, or it would ask a stranger for it.
  await prepareZXingModule({ overrides: { locateFile: (name) => new URL(name, DECODER).href }, fireImmediately: true });
  const canvas = document.createElement('canvas');
  const context = canvas.getContext('2d', { willReadFrequently: true });
  let turn = 0;
  return async (video) => {
    const [left, top, width, height, scale] = part(video.videoWidth, video.videoHeight, turn++);
    canvas.width = Math.round(width * scale);
    canvas.height = Math.round(height * scale);
    context.drawImage(video, left, top, width, height, 0, 0, canvas.width, canvas.height);
    const picture = context.getImageData(0, 0, canvas.width, canvas.height);
    return (await readBarcodes(picture, OPTIONS))[0]?.text || null;
  };
}

/**
 * @returns {Promise<(video: HTMLVideoElement) => Promise<string|null>>} reads one frame. Rejects where neither the phone
 * nor the server has a reader.
 */
export async function createReader({
  Detector = globalThis.BarcodeDetector, load = () => import(new URL('es/reader/index.js', DECODER).href),
} = {}) {
  const own = await nativeReader(Detector).catch(() => null);
  if (!own) return fetchedReader(load);
  let read = own;
  return async (video) => {
    try {
      return await read(video);
    } catch (failure) {
      // A detector whose service the phone does not have says so at the first picture.
      if (read !== own) throw failure;
      read = await fetchedReader(load);
      return read(video);
    }
  };
}
