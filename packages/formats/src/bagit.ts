import { fail, problem, ProblemError, type Problem } from '@stillmark/problems';

/** Tag files of a bag (BagIt 1.0, RFC 8493) that are read here, by their names. */
export const bagNames = {
  declaration: 'bagit.txt',
  info: 'bag-info.txt',
  payload: 'manifest-sha256.txt',
  tags: 'tagmanifest-sha256.txt',
} as const;

/** Files of the payload lie below this. */
export const payloadFolder = 'data/';

/** The declaration of a bag (RFC 8493, 2.1.1). */
export const bagDeclaration = 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n';

/**
 * What keeps a name from standing in an archive that can be unpacked anywhere: names that lead out of the folder, and names that
 * systems read as something else. Undefined where nothing does.
 */
export function unsafeName(path: string): string | undefined {
  if (path === '') return 'it is empty';
  if (path.startsWith('/') || /^[A-Za-z]:/.test(path)) return 'it is absolute';
  if (path.includes('\0')) return 'it holds a NUL';
  if (path.includes('\\')) return 'it holds a backslash';
  // Half a pair of UTF-16, or bytes that were no UTF-8 when the name was read.
  if (/[\p{Cs}\ufffd]/u.test(path)) return 'it is no UTF-8';
  const parts = path.split('/');
  if (parts.includes('..')) return 'it leads out of its folder by ..';
  if (parts.some((part) => part === '' || part === '.')) return 'it has an empty part';
  return undefined;
}

/** Of a file that is no manifest at all, not every line is told. */
const mostProblems = 100;

/** The text of a manifest (RFC 8493, 2.1.3): hash and path of each file, in order of path. */
export function bagManifest(files: ReadonlyMap<string, string>): string {
  return [...files]
    .toSorted(([a], [b]) => (a < b ? -1 : 1))
    .map(([path, sha256]) => `${sha256}  ${encodePath(path)}\n`)
    .join('');
}

/** Carriage returns, line feeds and percent signs, and only those (RFC 8493, 2.1.3). */
function encodePath(path: string): string {
  return path.replace(/[\r\n%]/g, (c) => `%${c.charCodeAt(0).toString(16).toUpperCase().padStart(2, '0')}`);
}

/**
 * Reads a manifest: hashes in small letters by path.
 *
 * @param file its name, as problems and the rules of RFC 8493 know it
 * @throws ARCHIVE_FORMAT, ARCHIVE_UNSAFE with every line that cannot be used, up to a hundred
 */
export function readBagManifest(bytes: Uint8Array, file: string): Map<string, string> {
  const hashes = new Map<string, string>();
  const problems: Problem[] = [];
  let n = 0;
  for (const line of linesOf(bytes, file)) {
    const at = { at: { file, line: ++n } };
    if (problems.length >= mostProblems) break;
    const [, hash, encoded] = /^([0-9A-Fa-f]{64})[ \t]+(\S[^]*)$/u.exec(line) ?? [];
    if (hash === undefined || encoded === undefined) {
      const hint = 'a SHA-256 hash in 64 hexadecimal digits, spaces, and a path, on a line of its own';
      problems.push(problem('ARCHIVE_FORMAT', 'a line of the manifest cannot be read', { ...at, hint }));
      continue;
    }
    if (/%(?!0[AaDd]|25)/.test(encoded))
      problems.push(
        problem('ARCHIVE_FORMAT', `a percent sign in ${encoded} stands for no character`, {
          ...at,
          hint: '%25 for a percent sign, %0A for a line feed, %0D for a carriage return',
        }),
      );
    const path = encoded.replace(/%(0[AaDd]|25)/g, (_, code: string) =>
      String.fromCharCode(Number.parseInt(code, 16)),
    );
    const unsafe = unsafeName(path);
    if (unsafe !== undefined)
      problems.push(problem('ARCHIVE_UNSAFE', `the manifest names ${path}: ${unsafe}`, at));
    else if (path.startsWith(payloadFolder) !== (file === bagNames.payload) || path === bagNames.tags)
      problems.push(
        problem('ARCHIVE_FORMAT', `${path} does not belong into this manifest`, {
          ...at,
          hint: `files below ${payloadFolder} in ${bagNames.payload}, and all others in ${bagNames.tags}`,
        }),
      );
    if (hashes.has(path)) problems.push(problem('ARCHIVE_FORMAT', `the manifest names ${path} twice`, at));
    hashes.set(path, hash.toLowerCase());
  }
  if (problems.length > 0) throw new ProblemError(problems);
  return hashes;
}

/** The text of `bag-info.txt` (RFC 8493, 2.2.2). Labels and values stand in one line. */
export function bagInfo(elements: readonly (readonly [label: string, value: string])[]): string {
  return elements.map(([label, value]) => `${label}: ${value.replace(/[\r\n]+/g, ' ')}\n`).join('');
}

/**
 * Reads `bag-info.txt`; lines that begin with a space go on from the one before.
 *
 * @throws ARCHIVE_FORMAT
 */
export function readBagInfo(bytes: Uint8Array): [label: string, value: string][] {
  const file = bagNames.info;
  const elements: [string, string][] = [];
  let n = 0;
  for (const line of linesOf(bytes, file)) {
    n++;
    const last = elements.at(-1);
    if (/^[ \t]/.test(line) && last) {
      last[1] += ` ${line.trim()}`;
      continue;
    }
    const [, label, value] = /^([^\s:][^:]*):[ \t]*([^]*)$/u.exec(line) ?? [];
    if (label === undefined || value === undefined)
      return fail('ARCHIVE_FORMAT', 'the line cannot be read', {
        at: { file, line: n },
        hint: 'a label, a colon, a space and a value',
      });
    elements.push([label, value]);
  }
  return elements;
}

/**
 * Checks the declaration of a bag.
 *
 * @throws ARCHIVE_FORMAT where it is none, or of another version than 1.0
 */
export function checkBagDeclaration(bytes: Uint8Array): void {
  const file = bagNames.declaration;
  const [version, encoding, more] = linesOf(bytes, file);
  const found = /^BagIt-Version:\s*(\S+)$/.exec(version ?? '')?.[1];
  const hint = `the two lines ${bagDeclaration.trimEnd().replace('\n', ' and ')}`;
  if (found === undefined || more !== undefined)
    fail('ARCHIVE_FORMAT', 'the declaration of the bag cannot be read', { at: { file }, hint });
  if (found !== '1.0')
    fail('ARCHIVE_FORMAT', `the bag is of BagIt version ${found}`, {
      at: { file, line: 1 },
      hint: 'version 1.0 (RFC 8493)',
    });
  if (!/^Tag-File-Character-Encoding:\s*UTF-8$/i.test(encoding ?? ''))
    fail('ARCHIVE_FORMAT', 'the tag files of the bag are not said to be UTF-8', {
      at: { file, line: 2 },
      hint,
    });
}

/** Bytes and files of a payload (`Payload-Oxum`; RFC 8493, 2.2.2). */
export function payloadOxum(files: readonly { readonly bytes: number }[]): string {
  return `${files.reduce((sum, { bytes }) => sum + bytes, 0)}.${files.length}`;
}

/** Lines of a tag file; they may end in each of the three ways (RFC 8493, 2.1.3 and 2.2). */
function* linesOf(bytes: Uint8Array, file: string): Generator<string> {
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    fail('ARCHIVE_FORMAT', 'the file is not UTF-8', {
      at: { file },
      hint: 'the file as it was written',
    });
  }
  if (text.startsWith('\ufeff'))
    fail('ARCHIVE_FORMAT', 'the file begins with a byte order mark', {
      at: { file, line: 1 },
      hint: 'UTF-8 without a byte order mark',
    });
  let from = 0;
  for (const { 0: end, index } of text.matchAll(/\r\n|\n|\r/g)) {
    yield text.slice(from, index);
    from = index + end.length;
  }
  if (from < text.length) yield text.slice(from);
}
