// A picture file made small enough to keep and send: upright, JPEG, nothing in it but the picture.

import { withoutMetadata } from "./exif.js";
import { t } from "./words.js";

export const LONGEST_SIDE = 1600;
export const MOST_BYTES = 250_000;
const SMALLEST_SIDE = 16;
const THUMBNAIL_SIDE = 240;
const QUALITIES = [0.85, 0.75, 0.65, 0.55, 0.45, 0.35];
const SMALLER = 0.8;

/** A file that cannot be kept as a photograph; `message` is a sentence for the slot. */
export class PhotoError extends Error {
  /** @param {"heic"|"unreadable"|"small"|"unsupported"} kind @param {string} sentence */
  constructor(kind, sentence) {
    super(sentence);
    this.name = "PhotoError";
    this.kind = kind;
  }
}

/**
 * Make the picture that is kept, and a thumbnail of it.
 * @param {Blob} file what the camera or the file chooser gave
 * @param {ArrayBuffer} bytes the same, read
 * @returns {Promise<{bytes: ArrayBuffer, width: number, height: number, thumb: ArrayBuffer}>}
 *   JPEG of at most MOST_BYTES and LONGEST_SIDE pixels; thumb is JPEG of THUMBNAIL_SIDE at most
 * @throws {PhotoError} where this device cannot read it as a picture
 */
export async function makePicture(file, bytes) {
  const source = await decode(file, bytes);
  try {
    if (Math.min(source.width, source.height) < SMALLEST_SIDE) {
      throw new PhotoError(
        "small",
        t("This picture has {width} × {height} pixels: nothing can be seen on it. Take the photo again. What is scored is kept.",
          { width: source.width, height: source.height }),
      );
    }
    const kept = await shrink(source);
    const small = paint(source, THUMBNAIL_SIDE);
    return { ...kept, thumb: withoutMetadata(await jpeg(small, 0.7)) };
  } finally {
    source.close();
  }
}

/** The source as JPEG: first with less quality, then with fewer pixels, until it is small. */
async function shrink(source) {
  for (let side = LONGEST_SIDE; side >= SMALLEST_SIDE; side = Math.floor(side * SMALLER)) {
    const canvas = paint(source, side);
    for (const quality of QUALITIES) {
      const bytes = withoutMetadata(await jpeg(canvas, quality));
      if (bytes.byteLength <= MOST_BYTES) {
        return { bytes, width: canvas.width, height: canvas.height };
      }
    }
  }
  throw unsupported();
}

function paint(source, longest) {
  const scale = Math.min(1, longest / Math.max(source.width, source.height));
  const width = Math.max(1, Math.round(source.width * scale));
  const height = Math.max(1, Math.round(source.height * scale));
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  const context = canvas.getContext("2d");
  if (!context) throw unsupported();
  context.fillStyle = "#fff"; // JPEG knows no transparency; without this it turns black
  context.fillRect(0, 0, width, height);
  context.imageSmoothingQuality = "high";
  context.drawImage(source.image, 0, 0, width, height);
  return canvas;
}

async function jpeg(canvas, quality) {
  const type = "image/jpeg";
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, type, quality));
  // A browser that cannot write a type writes PNG instead, without a word.
  if (blob?.type !== type) throw unsupported();
  return blob.arrayBuffer();
}

async function decode(file, bytes) {
  try {
    const image = await createImageBitmap(file, { imageOrientation: "from-image" });
    return { image, width: image.width, height: image.height, close: () => image.close() };
  } catch {
    // Older Safari knows no such option, and reads more formats in an element than here.
    return decodeInElement(file, bytes);
  }
}

async function decodeInElement(file, bytes) {
  const url = URL.createObjectURL(file);
  const image = new Image();
  image.src = url;
  try {
    await image.decode();
  } catch {
    URL.revokeObjectURL(url);
    throw unreadable(bytes);
  }
  return {
    image,
    width: image.naturalWidth,
    height: image.naturalHeight,
    close: () => URL.revokeObjectURL(url),
  };
}

function unreadable(bytes) {
  if (isHeic(bytes)) {
    return new PhotoError(
      "heic",
      t("This photo is in the HEIC format, which this device's browser cannot read. Set the camera to save JPEG and take it again. The photo stays where the camera put it, and what is scored is kept."),
    );
  }
  return new PhotoError(
    "unreadable",
    t("This file is not a picture that can be read here. Take the photo again or choose a JPEG file. What is scored is kept."),
  );
}

/** Whether a file says in its first box that it is HEIC (ISO 14496-12 ftyp, ISO 23008-12). */
export function isHeic(bytes) {
  const head = String.fromCharCode(...new Uint8Array(bytes, 0, Math.min(12, bytes.byteLength)));
  return /^[^]{4}ftyp(heic|heix|heim|heis|hevc|hevx|mif1|msf1)$/.test(head);
}

function unsupported() {
  return new PhotoError(
    "unsupported",
    t("This browser cannot make a JPEG of the photo. Bring the browser up to date, or take the photo with the device's camera and hand it in at the desk. What is scored is kept."),
  );
}
