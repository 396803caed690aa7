import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { fail, ProblemError } from '@stillmark/problems';
import { Zip, ZipDeflate } from 'fflate';
import { extract, pack } from 'tar-stream';
import yauzl, { type Entry } from 'yauzl';
import type { Files } from './effects.ts';

/** `zip` is compressed and ends at 4 GB; `tar` is neither. */
export type ArchiveForm = 'zip' | 'tar';

/** A file that goes into an archive. */
export interface Packed {
  readonly path: string;
  readonly bytes: number;
  /** Its bytes in pieces, as many as were said. */
  readonly content: () => AsyncIterable<Uint8Array>;
}

/** What stands in an archive. */
export interface Found {
  readonly name: string;
  readonly kind: 'file' | 'folder' | 'link' | 'other';
  /** Of a file, as the archive claims: what comes is never more. */
  readonly bytes: number;
  /** To be read to its end before the next one is asked for. */
  readonly content: AsyncIterable<Uint8Array>;
}

/** What may come out of an archive. Other bounds are for tests. */
export interface ArchiveBounds {
  readonly entries: number;
  /** Bytes of one file. */
  readonly file: number;
  /** A zip file gives at most so many times its own size, and so many bytes beside, which small ones need. */
  readonly ratio: number;
  readonly spare: number;
}

export const usualBounds: ArchiveBounds = { entries: 200_000, file: 64e9, ratio: 100, spare: 64e6 };

/** Rights and times of all entries: those of the disk would make other bytes of the same archive. */
const mode = 0o644;
const tarTime = new Date(Date.UTC(1980, 0, 1));

/** The bytes of an archive of files in the order in which they are given: the same files give the same bytes on every machine. */
export function archiveBytes(form: ArchiveForm, files: readonly Packed[]): AsyncIterable<Uint8Array> {
  if (form === 'tar') return tarBytes(files);
  checkZipSize(files);
  return zipBytes(files);
}

async function* tarBytes(files: readonly Packed[]): AsyncGenerator<Uint8Array> {
  const archive = pack();
  const feed = async (): Promise<void> => {
    for (const { path, bytes, content } of files) {
      const entry = archive.entry({ name: path, size: bytes, mode, mtime: tarTime, type: 'file' });
      await pipeline(Readable.from(content()), entry as unknown as NodeJS.WritableStream);
    }
    archive.finalize();
  };
  let broken: unknown;
  const feeding = feed().catch((error: unknown) => {
    broken ??= error;
    archive.destroy();
  });
  try {
    for await (const chunk of archive) yield chunk as Uint8Array;
  } catch (error) {
    broken ??= error;
  } finally {
    archive.destroy();
    await feeding;
  }
  if (broken !== undefined) throw broken;
}

/** Within 6 % of the size of the usual level, at 1.6 times its speed. */
const level = 3;

/**
 * Compressed by the same JavaScript everywhere: the bytes of Node's own compression differ between versions and processors.
 */
async function* zipBytes(files: readonly Packed[]): AsyncGenerator<Uint8Array> {
  const ready: Uint8Array[] = [];
  const archive = new Zip((error, chunk) => {
    if (error) throw error;
    ready.push(chunk);
  });
  // A zip file has wall-clock times: noon of a day is one in every zone.
  const attributes = { mtime: new Date(1980, 0, 1, 12), os: 3, attrs: (0o100_000 | mode) * 2 ** 16 };
  for (const { path, content } of files) {
    const entry = Object.assign(new ZipDeflate(path, { level }), attributes);
    archive.add(entry);
    for await (const chunk of content()) {
      entry.push(chunk);
      yield* ready.splice(0);
    }
    entry.push(new Uint8Array(0), true);
    yield* ready.splice(0);
  }
  archive.end();
  yield* ready.splice(0);
}

/** Places and sizes in 32 bits, and numbers of files in 16. */
function checkZipSize(files: readonly Packed[]): void {
  // Data that does not compress grows by less than a thousandth; a file has two heads with its name, and a tail.
  const most = files.reduce((sum, { path, bytes }) => sum + bytes * 1.001 + 256 + 6 * path.length, 0);
  if (most >= 2 ** 32 || files.length >= 2 ** 16 - 1)
    fail('USE_OPTION', 'a zip file cannot hold so much: it ends at 4 GB and 65 534 files', {
      hint: '`--out` with a name that ends in .tar',
    });
}

/** An archive on the disk. */
export interface OpenArchive {
  readonly form: ArchiveForm;
  /** Everything that stands in it, in its order, from the begin at each call. Errors are ARCHIVE_FORMAT, ARCHIVE_UNSAFE. */
  readonly entries: () => AsyncIterable<Found>;
}

/**
 * Opens a zip or tar file, known by its first bytes.
 *
 * @throws USE_FILE_MISSING, ARCHIVE_FORMAT
 */
export async function openArchive(
  file: string,
  files: Files,
  bounds: ArchiveBounds = usualBounds,
): Promise<OpenArchive> {
  if ((await files.kind(file)) !== 'file')
    fail('USE_FILE_MISSING', 'there is no such file', {
      at: { file },
      hint: 'a file written by `stillmark archive`',
    });
  const head = await collected(files.stream(file, { from: 0, to: 512 }));
  const begins = (...bytes: number[]): boolean => bytes.every((byte, i) => head[i] === byte);
  if (begins(0x50, 0x4b, 3, 4)) return { form: 'zip', entries: () => zipEntries(file, files, bounds) };
  if (String.fromCharCode(...head.subarray(257, 262)) === 'ustar')
    return { form: 'tar', entries: () => tarEntries(file, files, bounds) };
  const packed = begins(0x1f, 0x8b) || begins(0x28, 0xb5, 0x2f, 0xfd) || begins(0xfd, 0x37, 0x7a, 0x58);
  return fail('ARCHIVE_FORMAT', `the file is no archive${packed ? ': it is compressed as a whole' : ''}`, {
    at: { file },
    hint: packed ? 'the tar file in it, unpacked (gunzip, unzstd, unxz)' : 'a zip or tar file',
  });
}

async function* tarEntries(
  file: string,
  files: Files,
  bounds: ArchiveBounds,
): AsyncGenerator<Found, void, undefined> {
  const archive = extract();
  const feeding = pipeline(
    Readable.from(files.stream(file)),
    archive as unknown as NodeJS.WritableStream,
  ).catch((error: unknown) => error);
  let n = 0;
  try {
    for await (const entry of archive) {
      const { name, type, size } = entry.header;
      const kind = kinds[type] ?? 'other';
      checkBounds(name, size, ++n, file, bounds);
      yield { name: name.replace(/^(?:\.\/)+/, ''), kind, bytes: size, content: whole(entry, file) };
      entry.resume();
    }
  } catch (error) {
    throwDamage(error, file);
  } finally {
    archive.destroy();
    await feeding;
  }
}

const kinds: Readonly<Record<string, Found['kind']>> = {
  file: 'file',
  directory: 'folder',
  symlink: 'link',
  link: 'link',
};

async function* zipEntries(
  file: string,
  files: Files,
  bounds: ArchiveBounds,
): AsyncGenerator<Found, void, undefined> {
  const size = await files.size(file);
  let entries: Entry[];
  let zip: yauzl.ZipFile;
  try {
    // Names are judged here, so that what is wrong with one can be told.
    const options = { autoClose: false, decodeStrings: false, validateEntrySizes: true };
    zip = await yauzl.fromRandomAccessReaderPromise(new FileReader(file, size, files), size, options);
    entries = [];
    let [unpacked, packed] = [0, 0];
    for await (const entry of zip.eachEntry()) {
      entries.push(entry);
      checkBounds(nameOf(entry), entry.uncompressedSize, entries.length, file, bounds);
      unpacked += entry.uncompressedSize;
      packed += entry.compressedSize;
    }
    if (unpacked > bounds.ratio * size + bounds.spare || packed > size)
      fail('ARCHIVE_UNSAFE', `the archive of ${size} bytes claims to hold ${unpacked} bytes`, {
        at: { file },
        hint: `at most ${bounds.ratio} times the size of the archive`,
      });
  } catch (error) {
    throwDamage(error, file);
  }
  for (const entry of entries) {
    const name = nameOf(entry);
    const kind = kindOf(entry, name);
    const open = async function* (): AsyncGenerator<Uint8Array> {
      yield* (await zip.openReadStreamPromise(entry)) as AsyncIterable<Uint8Array>;
    };
    yield { name, kind, bytes: entry.uncompressedSize, content: whole(open(), `${file}/${name}`) };
  }
}

/** Backslashes stay, so that they can be refused; so do line feeds, which the library takes for the pictures that DOS had in their place. */
function nameOf({ generalPurposeBitFlag, fileNameRaw, extraFields }: Entry): string {
  if (fileNameRaw.every((byte) => byte < 0x80)) return fileNameRaw.toString('latin1');
  return yauzl.getFileNameLowLevel(generalPurposeBitFlag, fileNameRaw, extraFields, true);
}

function kindOf({ externalFileAttributes, versionMadeBy }: Entry, name: string): Found['kind'] {
  const unix = versionMadeBy >>> 8 === 3 || versionMadeBy >>> 8 === 19;
  const type = unix ? (externalFileAttributes >>> 16) & 0o170_000 : 0;
  if (type === 0o120_000) return 'link';
  if (name.endsWith('/')) return 'folder';
  return type === 0 || type === 0o100_000 ? 'file' : 'other';
}

/** Bytes that are read at once where few are asked for: heads of entries follow each other. */
const blockBytes = 2 ** 18;

/** What yauzl reads a zip file through. */
class FileReader extends yauzl.RandomAccessReader {
  readonly #file: string;
  readonly #size: number;
  readonly #files: Files;
  #block: { readonly from: number; readonly bytes: Uint8Array } = { from: 0, bytes: new Uint8Array(0) };

  constructor(file: string, size: number, files: Files) {
    super();
    this.#file = file;
    this.#size = size;
    this.#files = files;
  }

  override _readStreamForRange(from: number, to: number): Readable {
    return Readable.from(to - from > blockBytes / 2 ? this.#stream(from, to) : this.#small(from, to));
  }

  #stream(from: number, to: number): AsyncIterable<Uint8Array> {
    return this.#files.stream(this.#file, { from, to });
  }

  async *#small(from: number, to: number): AsyncGenerator<Uint8Array> {
    let { from: begin, bytes } = this.#block;
    if (from < begin || to > begin + bytes.length) {
      begin = from;
      bytes = await collected(this.#stream(from, Math.min(this.#size, from + blockBytes)));
      this.#block = { from, bytes };
    }
    yield bytes.subarray(from - begin, to - begin);
  }
}

/** All pieces in one. */
export async function collected(pieces: AsyncIterable<Uint8Array>): Promise<Uint8Array> {
  const chunks: Uint8Array[] = [];
  for await (const chunk of pieces) chunks.push(chunk);
  return chunks.length === 1 ? chunks[0]! : Buffer.concat(chunks);
}

function checkBounds(name: string, size: number, n: number, file: string, bounds: ArchiveBounds): void {
  const at = { at: { file } };
  if (n > bounds.entries) fail('ARCHIVE_UNSAFE', `the archive holds more than ${bounds.entries} files`, at);
  if (size > bounds.file)
    fail('ARCHIVE_UNSAFE', `${name} claims to have ${size} bytes`, {
      ...at,
      hint: `files of at most ${bounds.file} bytes`,
    });
}

/** A stream whose errors are those of the archive. */
async function* whole(stream: AsyncIterable<unknown>, file: string): AsyncGenerator<Uint8Array> {
  try {
    for await (const chunk of stream) yield chunk as Uint8Array;
  } catch (error) {
    throwDamage(error, file);
  }
}

/** What the disk says is no damage of the archive. */
function throwDamage(error: unknown, file: string): never {
  if (error instanceof ProblemError) throw error;
  const { code, message } = error as NodeJS.ErrnoException;
  const ofStreams = code === undefined || code.startsWith('Z_') || code.startsWith('ERR_');
  if (!ofStreams) throw error;
  return fail('ARCHIVE_FORMAT', `the archive is damaged: ${message}`, {
    at: { file },
    hint: 'the archive as it was written',
  });
}
