import { createHash } from 'node:crypto';
import { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import { fail, ProblemError } from '@stillmark/problems';
import yauzl, { type Entry, type ZipFile } from 'yauzl';
import type { Files } from './effects.ts';

/** What is read as a whole is no larger than this once it is unpacked: the longest text that the language holds is a little longer. */
export const mostWhole = 500_000_000;
/** What is read in pieces is no larger than this once it is unpacked: a small file that grows without end is a mistake, or an attack. */
export const mostInPieces = 8_000_000_000;
/** Files in a zip archive. */
const mostEntries = 10_000;

/** A delivered file, or a file inside a delivered zip archive; unpacked where it was packed. */
export interface Part {
  /** As problems name it. */
  readonly name: string;
  /** True where the bytes are not those that lie on the disk. */
  readonly packed: boolean;
  /** @throws INPUT_CUT, INPUT_NOT_TEXT on the way */
  readonly chunks: () => AsyncIterable<Uint8Array>;
  /** @throws INPUT_CUT, INPUT_NOT_TEXT */
  readonly bytes: () => Promise<Uint8Array>;
}

/** How much of a packed file may come out of it; other bounds are for tests. */
interface Bounds {
  readonly whole: number;
  readonly inPieces: number;
}

const usualBounds: Bounds = { whole: mostWhole, inPieces: mostInPieces };

/**
 * The parts of a delivered file: itself; what a gzip file (RFC 1952) holds; or each file of a zip archive. Known by the first bytes,
 * whatever the name.
 *
 * @throws INPUT_NOT_TEXT for archives that cannot be read, and for what is compressed otherwise
 */
export async function partsOf(
  path: string,
  file: string,
  files: Files,
  bounds = usualBounds,
): Promise<Part[]> {
  const [a, b, c, d] = await firstBytes(files.stream(path));
  if (a === 0x1f && b === 0x8b) return [part(file, true, () => unzipped(files.stream(path), file), bounds)];
  if (a === 0x1f && b === 0x9d)
    return fail('INPUT_NOT_TEXT', 'the file is compressed in the way of .Z, which is not read', {
      at: { file },
      hint: 'gzip or zip, or the file as it is',
    });
  if (a === 0x50 && b === 0x4b && ((c === 3 && d === 4) || (c === 5 && d === 6)))
    return entriesOf(await collected(files.stream(path), file, bounds.whole), file, bounds);
  return [part(file, false, () => files.stream(path), bounds)];
}

/** Hash of the bytes of a file as it lies on the disk. */
export async function hashOfFile(path: string, files: Files): Promise<string> {
  const hash = createHash('sha256');
  for await (const chunk of files.stream(path)) hash.update(chunk);
  return hash.digest('hex');
}

function part(
  name: string,
  packed: boolean,
  open: () => AsyncIterable<Uint8Array>,
  { whole, inPieces }: Bounds,
): Part {
  return {
    name,
    packed,
    chunks: () => (packed ? bounded(open(), name, inPieces, packed) : open()),
    bytes: () => collected(open(), name, whole, packed),
  };
}

async function firstBytes(stream: AsyncIterable<Uint8Array>): Promise<Uint8Array> {
  for await (const chunk of stream) if (chunk.length >= 4) return chunk;
  return new Uint8Array(0);
}

async function collected(
  stream: AsyncIterable<Uint8Array>,
  file: string,
  most: number,
  packed = false,
): Promise<Uint8Array> {
  const chunks: Uint8Array[] = [];
  for await (const chunk of bounded(stream, file, most, packed)) chunks.push(chunk);
  return chunks.length === 1 ? chunks[0]! : Buffer.concat(chunks);
}

async function* bounded(
  stream: AsyncIterable<Uint8Array>,
  file: string,
  most: number,
  packed: boolean,
): AsyncGenerator<Uint8Array> {
  let size = 0;
  for await (const chunk of stream) {
    size += chunk.length;
    if (size > most)
      fail(
        'INPUT_NOT_TEXT',
        `the file holds more than ${Math.round(most / 1e6)} MB${packed ? ' when it is unpacked' : ''}`,
        {
          at: { file },
          hint: 'files of a month or less',
        },
      );
    yield chunk;
  }
}

async function* unzipped(stream: AsyncIterable<Uint8Array>, file: string): AsyncGenerator<Uint8Array> {
  const source = Readable.from(stream);
  const gunzip = source.pipe(createGunzip());
  source.on('error', (error) => gunzip.destroy(error));
  try {
    for await (const chunk of gunzip) yield chunk as Uint8Array;
  } catch (error) {
    throwDamage(error, file);
  } finally {
    source.destroy();
  }
}

function throwDamage(error: unknown, file: string): never {
  if (error instanceof ProblemError) throw error;
  const { code, message } = error as NodeJS.ErrnoException;
  if (code === 'Z_BUF_ERROR')
    return fail('INPUT_CUT', 'the compressed file ends too early', {
      at: { file },
      hint: 'the file delivered again, whole',
    });
  // What the disk says is no damage of the file.
  if (code !== undefined && !code.startsWith('Z_')) throw error;
  return fail('INPUT_NOT_TEXT', `the compressed file is damaged: ${message}`, {
    at: { file },
    hint: 'the file delivered again',
  });
}

/** The files of an archive in the order of their names; folders, and what operating systems add, are none. */
async function entriesOf(bytes: Uint8Array, file: string, bounds: Bounds): Promise<Part[]> {
  try {
    const zip = await yauzl.fromBufferPromise(Buffer.from(bytes), { lazyEntries: true, autoClose: false });
    const entries: Entry[] = [];
    let size = 0;
    for await (const entry of zip.eachEntry()) {
      if (/\/$|(?:^|\/)(?:__MACOSX\/|\.)/.test(entry.fileName)) continue;
      entries.push(entry);
      size += entry.uncompressedSize;
      if (size > bounds.inPieces)
        fail(
          'INPUT_NOT_TEXT',
          `the archive holds more than ${Math.round(bounds.inPieces / 1e6)} MB when it is unpacked`,
          {
            at: { file },
            hint: 'archives of a month or less',
          },
        );
      if (entries.length > mostEntries)
        fail('INPUT_NOT_TEXT', `the archive holds more than ${mostEntries} files`, { at: { file } });
    }
    if (entries.length === 0) fail('INPUT_EMPTY', 'the archive holds no file', { at: { file } });
    return entries
      .sort((x, y) => (x.fileName < y.fileName ? -1 : 1))
      .map((entry) => part(`${file}/${entry.fileName}`, true, () => entryOf(zip, entry, file), bounds));
  } catch (error) {
    return throwDamage(error, file);
  }
}

async function* entryOf(zip: ZipFile, entry: Entry, file: string): AsyncGenerator<Uint8Array> {
  try {
    const stream = await zip.openReadStreamPromise(entry);
    for await (const chunk of stream) yield chunk as Uint8Array;
  } catch (error) {
    throwDamage(error, `${file}/${entry.fileName}`);
  }
}
