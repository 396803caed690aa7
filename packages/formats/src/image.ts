import { fail } from '@stillmark/problems';
import { imageSize } from 'image-size';

/** What browsers show, and how a file of it begins. */
const kinds = [
  { type: 'png', name: 'PNG', mime: 'image/png', begins: [[0, '\u0089PNG\r\n\u001a\n']] },
  { type: 'jpg', name: 'JPEG', mime: 'image/jpeg', begins: [[0, '\u00ff\u00d8\u00ff']] },
  {
    type: 'webp',
    name: 'WebP',
    mime: 'image/webp',
    begins: [
      [0, 'RIFF'],
      [8, 'WEBP'],
    ],
  },
] as const;

export interface ImageHead {
  readonly type: 'png' | 'jpg' | 'webp';
  readonly mime: 'image/png' | 'image/jpeg' | 'image/webp';
  readonly width_px: number;
  readonly height_px: number;
}

/** A phone draws no more pixels than 4096 by 4096. */
const mostPixels = 4096 * 4096;

/**
 * What an image is, by its bytes and not by its name: PNG, JPEG or WebP, and its size in pixels. What is not drawn whole is refused.
 *
 * @throws BACKGROUND_INVALID for what is no such image, is cut off, is too large, or would be turned by the browser
 */
export function readImageHead(bytes: Uint8Array, file: string): ImageHead {
  const refuse = (message: string, hint: string): never =>
    fail('BACKGROUND_INVALID', message, { at: { file }, hint });
  const kind = kinds.find(({ begins }) =>
    begins.every(([at, text]) => ascii(bytes, at, text.length) === text),
  );
  if (!kind)
    return refuse(`this is ${otherKind(bytes)}, and no image that browsers show`, 'a PNG, a JPEG or a WebP');
  let size: { width: number; height: number; orientation?: number };
  try {
    size = imageSize(bytes);
  } catch {
    return refuse(`the file begins as a ${kind.name}, and its size cannot be read`, 'the image, saved again');
  }
  const { width, height, orientation = 1 } = size;
  if (!(Number.isInteger(width) && Number.isInteger(height) && width > 0 && height > 0))
    return refuse(`the image has ${width} by ${height} pixels`, 'the image, saved again');
  if (!isWhole(bytes, kind.type))
    return refuse(`the ${kind.name} is cut off: its end is missing`, 'the whole file');
  if (width * height > mostPixels)
    return refuse(
      `the image has ${width} by ${height} pixels, at most ${mostPixels} are drawn (4096 by 4096)`,
      'the part about the site, or larger pixels; the world file changes with them',
    );
  // The world file counts the pixels as they are stored; a browser would turn them first.
  if (orientation !== 1)
    return refuse(
      `the camera has noted that the image is to be turned (Exif orientation ${orientation})`,
      'the image without that note, turned to what the world file is of',
    );
  return { type: kind.type, mime: kind.mime, width_px: width, height_px: height };
}

function ascii(bytes: Uint8Array, from: number, length: number): string {
  return String.fromCharCode(...bytes.subarray(from, from + length));
}

/** Words for what people take for an image of the web. */
function otherKind(bytes: Uint8Array): string {
  if (bytes.length === 0) return 'an empty file';
  const start = ascii(bytes, 0, 4);
  if (start === 'II*\0' || start === 'MM\0*' || start === 'II+\0') return 'a TIFF';
  if (start === '%PDF') return 'a PDF';
  if (/^\s*<(?:\?xml|svg)/i.test(ascii(bytes, 0, 100))) return 'a text such as SVG';
  return 'something else';
}

/** Whether the mark at the end is there: of PNG the chunk IEND, of JPEG the marker FFD9, of WebP the length that it says. */
function isWhole(bytes: Uint8Array, type: ImageHead['type']): boolean {
  if (type === 'webp') {
    const length = bytes[4]! + bytes[5]! * 2 ** 8 + bytes[6]! * 2 ** 16 + bytes[7]! * 2 ** 24;
    return bytes.length >= length + 8;
  }
  const end = type === 'png' ? [0x49, 0x45, 0x4e, 0x44, 0xae, 0x42, 0x60, 0x82] : [0xff, 0xd9];
  // Some programs write a little after the end.
  for (let i = bytes.length - end.length; i >= Math.max(0, bytes.length - 4096); i--)
    if (end.every((byte, k) => bytes[i + k] === byte)) return true;
  return false;
}
