import { createHash } from 'node:crypto';
import { basename, dirname, join, relative, sep } from 'node:path';
import {
  bagDeclaration,
  bagInfo,
  bagManifest,
  bagNames,
  payloadFolder,
  payloadOxum,
  unsafeName,
} from '@stillmark/formats';
import { fail, problem, type Problem } from '@stillmark/problems';
import type { Snapshot } from '@stillmark/records';
import { manifestName, parseSnapshot } from '@stillmark/snapshot';
import { withLock } from '@stillmark/store';
import { archiveAbout, type Archived } from '@stillmark/wording';
import { stringify } from 'csv-stringify/sync';
import { archiveBytes, type ArchiveForm, type Packed } from './archive-form.ts';
import {
  isDelivered,
  projectFiles,
  rebuildProblems,
  storeFiles,
  strangerProblems,
  type ProjectFiles,
} from './archive-project.ts';
import { inputsFile, measured, projectFolder, siteFolder, type BagFile } from './bag.ts';
import type { Effects, Files, Producer } from './effects.ts';
import { openProject, sha256, storeFolder, throwErrors, type ProjectFolder } from './project-folder.ts';
import { verifyFolder } from './verify.ts';

export interface ArchiveTask {
  /** The folder of the site. */
  readonly site: string;
  /** The file to write; its ending says its form. */
  readonly out: string;
  /** Delivered files themselves, or their hashes alone. */
  readonly inputs: 'files' | 'hashes';
  /** Whether the store is taken along, which can be built again from the delivered files. */
  readonly store: boolean;
}

export interface ArchiveResult extends Archived {
  readonly form: ArchiveForm;
  readonly problems: readonly Problem[];
}

/** A file of the payload, and where it lies on the disk; or its bytes. */
type Source = BagFile & ({ readonly from: string } | { readonly content: Uint8Array });

/**
 * Puts a project and its site into one file, a BagIt bag (RFC 8493) in a zip or tar file, whole or not at all. The same project and
 * site give the same bytes on every machine.
 *
 * @throws what `verify` finds, ARCHIVE_SITE where the site is not that of the project as it stands, ARCHIVE_INPUTS where the store could
 * not be built again, ARCHIVE_NAME, ARCHIVE_CHANGED, USE_OUTPUT_TAKEN
 */
export async function archive(
  folder: string,
  task: ArchiveTask,
  { name, version }: Producer,
  effects: Effects,
): Promise<ArchiveResult> {
  const { files, progress } = effects;
  const { form, base } = formOf(task.out);
  const opened = await openProject(folder, files);
  const site = await wholeSite(task.site, files);
  throwErrors(await strangerProblems(opened, site.snapshot, task.site, files));
  const own = await projectFiles(opened, effects);
  await checkPlace(task, opened, own, files);

  const measure = async (path: string): Promise<Source> => {
    progress(`reading ${path}`);
    const from = join(folder, path);
    return { ...(await measured(path, files.stream(from))), from };
  };
  const inProject = (source: Source): Source => ({ ...source, path: `${projectFolder}/${source.path}` });
  const written = await Promise.all(own.written.map(measure));
  const delivered: Source[] = [];
  for (const path of own.delivered) delivered.push(await measure(path));
  const store: Source[] = [];
  if (task.store) for (const path of await storeFiles(opened, files)) store.push(await measure(path));
  // Before the first delivery nothing is missing yet.
  const begun = site.snapshot.inputs.some(({ path }) => path.startsWith(`${storeFolder}/`));
  const problems = [
    ...(begun ? own.problems : []),
    ...(task.store ? [] : await rebuildProblems(opened, site.snapshot, delivered, own.orbits, effects)),
  ];
  throwErrors(problems);

  const payload = [
    ...site.files,
    ...[...written, ...(task.inputs === 'files' ? delivered : []), ...store].map(inProject),
    ...(task.inputs === 'hashes' ? [given(inputsFile, inputsCsv(delivered))] : []),
  ].map((source): Source => ({ ...source, path: `${payloadFolder}${source.path}` }));
  const bag = inOrder([...payload, ...tagFiles(payload, site.snapshot, task, `${name} ${version}`)]);
  throwErrors(nameProblems(bag));

  progress(`writing ${task.out}`);
  const sum = createHash('sha256');
  let bytes = 0;
  const packed = bag.map((source) => pack(source, base, files));
  await withLock(lockOf(task.out), 'archive', async () => {
    await checkFree(task.out, files);
    await files.write(
      task.out,
      passing(archiveBytes(form, packed), (chunk) => {
        sum.update(chunk);
        bytes += chunk.length;
      }),
    );
  });
  return {
    form,
    title: site.snapshot.project.title,
    asOf: site.snapshot.asOf,
    files: bag.length,
    bytes,
    sha256: sum.digest('hex'),
    delivered: delivered.length,
    leftOut: await leftOut(opened, own, task, files),
    problems,
  };
}

function formOf(out: string): { form: ArchiveForm; base: string } {
  const [, base, form] = /^(.+)\.(zip|tar)$/i.exec(basename(out)) ?? [];
  if (base === undefined || unsafeName(base) !== undefined)
    return fail('USE_OPTION', `${basename(out)} is no name of an archive`, { hint: 'NAME.zip or NAME.tar' });
  return { form: form!.toLowerCase() as ArchiveForm, base };
}

interface WholeSite {
  readonly snapshot: Snapshot;
  readonly files: readonly Source[];
}

async function wholeSite(folder: string, files: Files): Promise<WholeSite> {
  const { manifest, problems } = await verifyFolder(folder, files);
  throwErrors(problems);
  const own = await measured(manifestName, files.stream(join(folder, manifestName)));
  const text = (await files.read(join(folder, 'snapshot.json'))) ?? new Uint8Array(0);
  return {
    snapshot: parseSnapshot(new TextDecoder().decode(text), join(folder, 'snapshot.json')),
    files: [...manifest, own].map((file) => ({
      ...file,
      path: `${siteFolder}/${file.path}`,
      from: join(folder, file.path),
    })),
  };
}

/** An archive must not lie where it would spoil the site, or be taken for something delivered. */
async function checkPlace(
  { out, site }: ArchiveTask,
  { folder }: ProjectFolder,
  own: ProjectFiles,
  files: Files,
): Promise<void> {
  const at = { at: { file: out } };
  if ((await files.kind(dirname(out))) !== 'folder')
    fail('USE_FOLDER_MISSING', 'the folder that is to hold the archive does not exist', {
      at: { file: dirname(out) },
    });
  await checkFree(out, files);
  const place = join(await files.resolve(dirname(out)), basename(out));
  const within = async (home: string): Promise<string | undefined> => {
    const path = relative(await files.resolve(home), place);
    return path.startsWith('..') || path === '' ? undefined : path.split(sep).join('/');
  };
  if ((await within(site)) !== undefined)
    fail('USE_OPTION', 'the archive would lie in the site that it is of', {
      ...at,
      hint: 'a place outside of the site',
    });
  const path = await within(folder);
  if (path !== undefined && (path.startsWith(`${storeFolder}/`) || isDelivered(path, own)))
    fail('USE_OPTION', 'the archive would lie where the project keeps other files', {
      ...at,
      hint: 'a place that no pattern of project.yaml matches',
    });
}

async function checkFree(out: string, files: Files): Promise<void> {
  if ((await files.kind(out)) !== 'nothing')
    fail('USE_OUTPUT_TAKEN', 'something stands there already; it was not touched', {
      at: { file: out },
      hint: 'another name: an archive is not written over',
    });
}

const lockOf = (out: string): string => join(dirname(out), `.${basename(out)}.stillmark-lock`);

/** Everything of a bag beside its payload. */
function tagFiles(
  payload: readonly Source[],
  snapshot: Snapshot,
  { inputs, store }: ArchiveTask,
  archiver: string,
): Source[] {
  const { project, asOf, producer } = snapshot;
  const computer = `${producer.name} ${producer.version}`;
  const hashes = (files: readonly Source[]): Map<string, string> =>
    new Map(files.map(({ path, sha256 }) => [path, sha256]));
  const tags = [
    given('about.txt', archiveAbout(snapshot, { inputs, store })),
    given(bagNames.declaration, bagDeclaration),
    given(
      bagNames.info,
      bagInfo([
        // Of what it holds: the day on which the command ran would make other bytes of the same archive.
        ['Bagging-Date', asOf.slice(0, 10)],
        ['External-Description', project.title],
        ['Payload-Oxum', payloadOxum(payload)],
        ['Stillmark-Archived-By', archiver],
        ['Stillmark-As-Of', asOf],
        ['Stillmark-Computed-By', computer],
        ['Stillmark-Inputs', inputs],
        ['Stillmark-Store', store ? 'yes' : 'no'],
      ]),
    ),
    given(bagNames.payload, bagManifest(hashes(payload))),
  ];
  return [...tags, given(bagNames.tags, bagManifest(hashes(tags)))];
}

/** Delivered files of which only this is archived (RFC 4180). */
function inputsCsv(delivered: readonly BagFile[]): string {
  const rows = delivered.map(({ path, bytes, sha256 }) => ({ path, bytes, sha256 }));
  return stringify(rows, { header: true, columns: ['path', 'bytes', 'sha256'] });
}

function given(path: string, text: string): Source {
  const content = new TextEncoder().encode(text);
  return { path, bytes: content.length, sha256: sha256(content), content };
}

const inOrder = (sources: readonly Source[]): Source[] =>
  sources.toSorted((a, b) => (a.path < b.path ? -1 : 1));

function nameProblems(bag: readonly Source[]): Problem[] {
  return bag.flatMap(({ path }) => {
    const unsafe = unsafeName(path);
    return unsafe === undefined
      ? []
      : [problem('ARCHIVE_NAME', `the name cannot stand in an archive: ${unsafe}`, { at: { file: path } })];
  });
}

/** A file is hashed again on its way into the archive: what changed since it was measured must not come in. */
function pack(source: Source, base: string, files: Files): Packed {
  const { path, bytes, sha256 } = source;
  const content = async function* (): AsyncGenerator<Uint8Array> {
    if ('content' in source) {
      yield source.content;
      return;
    }
    const changed = (): never =>
      fail('ARCHIVE_CHANGED', 'the file changed while it was archived', {
        at: { file: source.from },
        hint: 'the archive again, when nothing is being delivered or computed',
      });
    const hash = createHash('sha256');
    let seen = 0;
    for await (const chunk of files.stream(source.from)) {
      seen += chunk.length;
      if (seen > bytes) changed();
      hash.update(chunk);
      yield chunk;
    }
    if (seen !== bytes || hash.digest('hex') !== sha256) changed();
  };
  return { path: `${base}/${path}`, bytes, content };
}

async function* passing(
  pieces: AsyncIterable<Uint8Array>,
  see: (piece: Uint8Array) => void,
): AsyncGenerator<Uint8Array> {
  for await (const piece of pieces) {
    see(piece);
    yield piece;
  }
}

/** What else lies in the project folder, but for what is hidden. */
async function leftOut(
  { folder }: ProjectFolder,
  own: ProjectFiles,
  { out, site }: ArchiveTask,
  files: Files,
): Promise<string[]> {
  const taken = new Set([...own.written, ...own.delivered]);
  const home = await files.resolve(folder);
  const inside = async (path: string): Promise<string> =>
    relative(home, await files.resolve(path))
      .split(sep)
      .join('/');
  const [archived, published] = [await inside(out), await inside(site)];
  return (await files.list(folder)).filter(
    (path) =>
      !taken.has(path) &&
      path !== archived &&
      !/(?:^|\/)\./.test(path) &&
      ![storeFolder, published].some((own_) => path.startsWith(`${own_}/`)),
  );
}
