import { createHash } from 'node:crypto';
import {
  bagNames,
  checkBagDeclaration,
  payloadFolder,
  payloadOxum,
  readBagInfo,
  readBagManifest,
  unsafeName,
} from '@stillmark/formats';
import { fail, problem, ProblemError, type Problem } from '@stillmark/problems';
import { compareWithManifest, manifestName, parseManifest } from '@stillmark/snapshot';
import { collected, type Found, type OpenArchive } from './archive-form.ts';
import { projectFile } from './project-folder.ts';

/** Folders of the payload, below `data/`, and the list of inputs of which only the hashes are there. */
export const [siteFolder, projectFolder, inputsFile] = ['site', 'project', 'inputs.csv'] as const;

/** A file in a bag, as it was found. */
export interface BagFile {
  readonly path: string;
  readonly bytes: number;
  readonly sha256: string;
}

/** A bag of which every byte is as its manifests say. */
export interface CheckedBag {
  /** Its folder in the archive. */
  readonly base: string;
  /** Without that folder, by path. */
  readonly files: ReadonlyMap<string, BagFile>;
  /** What `bag-info.txt` says, by label in small letters. */
  readonly info: ReadonlyMap<string, string>;
}

/** What is kept of a bag to be judged is no larger than this: of manifests, and of the other two. */
const [largestManifest, largestTag] = [64e6, 1e6];
const siteManifest = `${payloadFolder}${siteFolder}/${manifestName}`;
const kept = new Set<string>([...Object.values(bagNames), siteManifest]);

/**
 * Reads an archive through, and checks every hash of the bag in it, and of the site in that.
 *
 * @param file its name, for problems
 * @throws ARCHIVE_FORMAT, ARCHIVE_FILE, ARCHIVE_UNSAFE with everything that is wrong
 */
export async function checkBag(archive: OpenArchive, file: string): Promise<CheckedBag> {
  const { base, files, texts } = await readAll(archive, file);
  const text = (name: string): Uint8Array =>
    texts.get(name) ??
    fail('ARCHIVE_FORMAT', `the archive is no bag: it has no ${name}`, {
      at: { file },
      hint: 'an archive written by `stillmark archive` (a BagIt bag, RFC 8493)',
    });
  checkBagDeclaration(text(bagNames.declaration));
  if (files.has('fetch.txt'))
    fail('ARCHIVE_FORMAT', 'the bag is not complete: it names files that lie elsewhere (fetch.txt)', {
      at: { file },
      hint: 'a bag with all its files',
    });
  const payload = readBagManifest(text(bagNames.payload), bagNames.payload);
  const tags = readBagManifest(text(bagNames.tags), bagNames.tags);
  const isPayload = (path: string): boolean => path.startsWith(payloadFolder);
  const problems = [
    ...differences(tags, files, (path) => !isPayload(path) && path !== bagNames.tags),
    ...differences(payload, files, isPayload),
  ];
  if (!tags.has(bagNames.payload))
    problems.push(
      problem('ARCHIVE_FORMAT', `${bagNames.payload} has no hash`, { at: { file: bagNames.tags } }),
    );
  const info = texts.has(bagNames.info) ? readBagInfo(texts.get(bagNames.info)!) : [];
  problems.push(
    ...wrongOxum(
      info,
      [...files.values()].filter(({ path }) => isPayload(path)),
    ),
  );
  if (problems.length > 0) throw new ProblemError(problems);
  if (!files.has(`${payloadFolder}${projectFolder}/${projectFile}`) || !texts.has(siteManifest))
    fail('ARCHIVE_FORMAT', 'the bag holds no project with its site', {
      at: { file },
      hint: 'a bag written by `stillmark archive`',
    });
  checkSite(texts.get(siteManifest)!, files);
  return { base, files, info: new Map(info.map(([label, value]) => [label.toLowerCase(), value])) };
}

interface Read {
  readonly base: string;
  readonly files: Map<string, BagFile>;
  readonly texts: Map<string, Uint8Array>;
}

async function readAll(archive: OpenArchive, file: string): Promise<Read> {
  const read: Read & { base: string } = { base: '', files: new Map(), texts: new Map() };
  const folders = new Set<string>();
  for await (const found of archive.entries()) {
    const [base, path] = placeOf(found, file);
    if (read.base === '') read.base = base;
    if (base !== read.base)
      fail('ARCHIVE_FORMAT', `the archive holds more than one folder: ${read.base} and ${base}`, {
        at: { file },
        hint: 'one bag in one folder',
      });
    for (let at = path.indexOf('/'); at >= 0; at = path.indexOf('/', at + 1)) folders.add(path.slice(0, at));
    if (found.kind === 'folder') {
      if (path !== '') folders.add(path);
      continue;
    }
    if (read.files.has(path))
      fail('ARCHIVE_UNSAFE', `the archive holds ${path} twice`, { at: { file }, hint: 'each file once' });
    const pieces = kept.has(path) ? await textOf(found, path, read) : found.content;
    read.files.set(path, await measured(path, pieces));
  }
  const both = [...read.files.keys()].find((path) => folders.has(path));
  if (both !== undefined)
    fail('ARCHIVE_UNSAFE', `${both} is a file and a folder in the archive`, { at: { file } });
  return read;
}

/** The folder of the bag, and the path in it. */
function placeOf({ name, kind }: Found, file: string): [base: string, path: string] {
  const at = { at: { file } };
  if (kind === 'link' || kind === 'other')
    fail('ARCHIVE_UNSAFE', `${name} is ${kind === 'link' ? 'a link' : 'no file and no folder'}`, {
      ...at,
      hint: 'files and folders only',
    });
  const path = kind === 'folder' ? name.replace(/\/$/, '') : name;
  const unsafe = unsafeName(path);
  if (unsafe !== undefined)
    fail('ARCHIVE_UNSAFE', `the archive holds a file named ${name}: ${unsafe}`, {
      ...at,
      hint: 'names of files in one folder',
    });
  const slash = path.indexOf('/');
  if (slash < 0 && kind === 'file')
    fail('ARCHIVE_FORMAT', `${name} lies in no folder of the archive`, {
      ...at,
      hint: 'one bag in one folder',
    });
  return slash < 0 ? [path, ''] : [path.slice(0, slash), path.slice(slash + 1)];
}

async function textOf(found: Found, path: string, { texts }: Read): Promise<AsyncIterable<Uint8Array>> {
  const most = path.includes('manifest') ? largestManifest : largestTag;
  if (found.bytes > most)
    fail('ARCHIVE_UNSAFE', `${path} claims to have ${found.bytes} bytes`, {
      at: { file: path },
      hint: `at most ${most} bytes`,
    });
  const bytes = await collected(found.content);
  texts.set(path, bytes);
  return (async function* () {
    yield bytes;
  })();
}

/** Size and hash of what comes in pieces. */
export async function measured(path: string, pieces: AsyncIterable<Uint8Array>): Promise<BagFile> {
  const hash = createHash('sha256');
  let bytes = 0;
  for await (const piece of pieces) {
    bytes += piece.length;
    hash.update(piece);
  }
  return { path, bytes, sha256: hash.digest('hex') };
}

function differences(
  manifest: ReadonlyMap<string, string>,
  files: ReadonlyMap<string, BagFile>,
  concerns: (path: string) => boolean,
): Problem[] {
  const problems: Problem[] = [];
  const say = (path: string, message: string): unknown =>
    problems.push(problem('ARCHIVE_FILE', message, { at: { file: path } }));
  for (const [path, hash] of manifest) {
    const found = files.get(path);
    if (!found) say(path, 'the file is missing in the archive');
    else if (found.sha256 !== hash)
      say(path, 'the file is changed: it does not have the hash of the manifest');
  }
  for (const path of files.keys())
    if (concerns(path) && !manifest.has(path)) say(path, 'the file was added: it is in no manifest');
  return problems;
}

function wrongOxum(info: readonly (readonly [string, string])[], payload: readonly BagFile[]): Problem[] {
  const stated = info.filter(([label]) => label.toLowerCase() === 'payload-oxum').map(([, value]) => value);
  const own = payloadOxum(payload);
  return stated.length === 0 || (stated.length === 1 && stated[0] === own)
    ? []
    : [
        problem(
          'ARCHIVE_FILE',
          `the payload is ${own} (bytes.files), and ${stated.join(' and ')} is stated`,
          {
            at: { file: bagNames.info },
          },
        ),
      ];
}

/** The site must be whole by its own manifest too: somebody may have made the bag anew around another one. */
function checkSite(manifest: Uint8Array, files: ReadonlyMap<string, BagFile>): void {
  const folder = `${payloadFolder}${siteFolder}/`;
  const found = [...files.values()]
    .filter(({ path }) => path.startsWith(folder) && path !== siteManifest)
    .map((file) => ({ ...file, path: file.path.slice(folder.length) }));
  const problems = compareWithManifest(parseManifest(new TextDecoder().decode(manifest)), found);
  if (problems.length > 0) throw new ProblemError(problems);
}
