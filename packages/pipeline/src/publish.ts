import { join } from 'node:path';
import { fail, ProblemError, type Problem } from '@stillmark/problems';
import { dayMs, type PublishedVersion, type PublishedVersions, type Snapshot } from '@stillmark/records';
import {
  manifestName,
  parseManifest,
  parseSnapshot,
  serialiseVersions,
  versionName,
  type ManifestEntry,
} from '@stillmark/snapshot';
import { withLock } from '@stillmark/store';
import { headlineSentence, highestLevel, ZoneClock } from '@stillmark/wording';
import { inWords, type Words } from '@stillmark/words';
import type { Effects, Files, Renderer } from './effects.ts';
import { sha256, throwErrors } from './project-folder.ts';
import {
  inOrder,
  isAsPublished,
  openPublished,
  placeAt,
  writePublished,
  type Place,
} from './published-versions.ts';
import { severalAtOnce } from './several.ts';
import { verify } from './verify.ts';
import { wordsOfSite } from './words-file.ts';

export interface PublishTask {
  /** Folder written by `snapshot`. */
  readonly site: string;
  readonly to: string;
  /** How many versions are kept, or how many days before the newest as-of time; all unless said. */
  readonly keep?: { readonly versions: number } | { readonly days: number };
  /** Why something older, or of another project, is put in the place of what stands there. */
  readonly despite?: string;
}

export interface PublishResult {
  readonly version: PublishedVersion;
  /** False where it stood there already. */
  readonly added: boolean;
  /** True where `latest` led elsewhere before. */
  readonly switched: boolean;
  readonly removed: readonly string[];
  readonly kept: number;
  readonly problems: readonly Problem[];
}

/**
 * Puts a snapshot beside those that were published before, and lets `latest` lead to it, by one rename: whoever reads `latest` or a
 * version reads a whole snapshot, whenever the command is stopped. The next one completes or sweeps away what a stopped one left.
 *
 * @throws what `verify` finds; PUBLISH_OLDER, PUBLISH_PROJECT, PUBLISH_LINK, USE_OUTPUT_TAKEN: nothing that is published was changed then
 */
export async function publish(
  task: PublishTask,
  renderer: Renderer,
  effects: Effects,
): Promise<PublishResult> {
  const { files } = effects;
  const site = await files.resolve(task.site);
  effects.progress('verifying the snapshot');
  throwErrors((await verify(site, effects)).problems);
  const source = await readSource(site, files);
  const place = await placeAt(task.to, site, files);
  await files.makeFolder(place.folder);
  return withLock(place.lock, 'folder of published snapshots', () =>
    publishInto(place, source, task, renderer, effects),
  );
}

interface Source {
  readonly site: string;
  readonly manifest: Uint8Array;
  readonly entries: readonly ManifestEntry[];
  readonly version: PublishedVersion;
  readonly words: Words | undefined;
}

/** What is published of a snapshot: its manifest, and what the history tells of it. */
async function readSource(site: string, files: Files): Promise<Source> {
  const manifest = await files.read(join(site, manifestName));
  if (!manifest) return changed(manifestName);
  const entries = parseManifest(new TextDecoder().decode(manifest));
  const entry = entries.find(({ path }) => path === 'snapshot.json');
  if (!entry)
    return fail('SNAPSHOT_FORMAT', 'the folder has a manifest, and no snapshot.json in it', {
      at: { file: site },
      hint: 'a folder written by `stillmark snapshot`',
    });
  const path = join(site, 'snapshot.json');
  const snapshot = parseSnapshot(new TextDecoder().decode(await readEntry(site, entry, files)), path);
  const words = await wordsOfSite(site, files);
  const version = inWords(words, () => tellVersion(snapshot, sha256(manifest), path));
  return { site, manifest, entries, version, words };
}

/**
 * What the history tells of a snapshot.
 *
 * @throws SNAPSHOT_FORMAT where its parts contradict each other, which the schema does not see: it may come from elsewhere
 */
function tellVersion(snapshot: Snapshot, manifest: string, file: string): PublishedVersion {
  const { asOf, validUntil, project } = snapshot;
  try {
    const level = highestLevel(snapshot);
    return {
      name: versionName(asOf, manifest),
      project: project.title,
      timeZone: new ZoneClock(project.timeZone).zone,
      asOf,
      validUntil,
      headline: headlineSentence(snapshot),
      ...(level ? { level } : {}),
      manifest,
    };
  } catch (error) {
    return fail('SNAPSHOT_FORMAT', `the snapshot cannot be told: ${(error as Error).message}`, {
      at: { file },
      hint: 'a snapshot as `stillmark snapshot` wrote it, in a time zone that this machine knows',
    });
  }
}

async function readEntry(
  site: string,
  { path, sha256: hash }: ManifestEntry,
  files: Files,
): Promise<Uint8Array> {
  const bytes = await files.read(join(site, path));
  return bytes && sha256(bytes) === hash ? bytes : changed(path);
}

function changed(path: string): never {
  return fail('SNAPSHOT_FILE', 'the file was changed while the snapshot was being published', {
    at: { file: path },
    hint: 'the same command again, when nothing writes to the snapshot',
  });
}

async function publishInto(
  place: Place,
  source: Source,
  task: PublishTask,
  renderer: Renderer,
  effects: Effects,
): Promise<PublishResult> {
  const { files } = effects;
  const { known, recorded, latest, problems } = await openPublished(place, files);
  const before = known.find(({ name }) => name === latest) ?? known[0];
  const own = known.find(({ name }) => name === source.version.name);
  const despite = reasonFor(before, source.version, task.despite) ?? own?.despite;
  const version = { ...source.version, ...(despite === undefined ? {} : { despite }) };
  const added = own === undefined;
  const folder = join(place.versions, version.name);
  const target = `versions/${version.name}`;
  const switched = (await files.readLink(place.latest)) !== target;
  if (added) await checkFree(folder, files);
  else await checkWhole(place, version, effects);
  const all = inOrder([version, ...known.filter(({ name }) => name !== version.name)]);
  const { removed, problems: odd } = await removable(place, all, version.name, task.keep, effects);
  const versions = all.filter((v) => !removed.includes(v));
  const published: PublishedVersions = { latest: version.name, versions };
  const page = await renderer.renderVersions(published, source.words);

  try {
    // Made before anything is copied: where the disk holds no links nothing is left half done.
    if (switched) await prepareLink(place, target, files);
    if (added) {
      effects.progress('copying the snapshot');
      await copyTo(place.partial, source, files);
    }
    // What the record does not tell before or will not tell after; a command that was stopped before may have left some of it.
    const underway = all.filter((v) => !recorded.has(v.name) || removed.includes(v));
    if (underway.length > 0)
      await files.write(place.underway, serialiseVersions({ latest: version.name, versions: underway }));
    if (added) await files.rename(place.partial, folder);
    await writePublished(place, published, page, await renderer.assets(), files);
    if (switched) await files.rename(place.nextLink, place.latest);
  } finally {
    // Of a full disk nothing may be left that fills it.
    await files.remove(place.partial);
    await files.remove(place.nextLink);
  }
  if (removed.length > 0) await files.makeFolder(place.removed);
  for (const { name } of removed) await files.rename(join(place.versions, name), join(place.removed, name));
  await files.remove(place.removed);
  await files.remove(place.underway);
  return {
    version,
    added,
    switched,
    removed: removed.map(({ name }) => name),
    kept: versions.length,
    problems: [...problems, ...odd],
  };
}

/**
 * Why a snapshot may stand in the place of another: undefined where it is of the same project and not older, which needs no reason.
 *
 * @throws PUBLISH_OLDER, PUBLISH_PROJECT where a reason is needed and none is given
 */
function reasonFor(
  before: PublishedVersion | undefined,
  version: PublishedVersion,
  despite: string | undefined,
): string | undefined {
  if (!before) return undefined;
  const other = before.project !== version.project;
  const older = Date.parse(version.asOf) < Date.parse(before.asOf);
  if (!other && !older) return undefined;
  if (despite !== undefined) return despite;
  const hint = '--despite with a reason, which the history will tell; or another folder';
  if (other)
    return fail(
      'PUBLISH_PROJECT',
      `'${version.project}' would take the place of '${before.project}', which is published there`,
      { hint },
    );
  return fail(
    'PUBLISH_OLDER',
    `the snapshot is as of ${version.asOf}, and what is published there is of ${before.asOf}`,
    { hint },
  );
}

async function checkFree(folder: string, files: Files): Promise<void> {
  if ((await files.kind(folder)) === 'nothing' && (await files.readLink(folder)) === undefined) return;
  fail('USE_OUTPUT_TAKEN', 'where the version would stand is something that this command did not write', {
    at: { file: folder },
    hint: 'to move it away',
  });
}

/** What stands there under its name already must be what is published. */
async function checkWhole(place: Place, version: PublishedVersion, effects: Effects): Promise<void> {
  const problems = await isAsPublished(place, version, effects);
  if (problems.length > 0)
    throw new ProblemError(
      problems.map((p) => ({
        ...p,
        code: 'SNAPSHOT_FILE',
        severity: 'error',
        hint: 'to move that folder away; the same command then publishes it anew',
      })),
    );
}

async function prepareLink(place: Place, target: string, files: Files): Promise<void> {
  const reason = await files.link(target, place.nextLink);
  if (reason !== undefined)
    fail('PUBLISH_LINK', `no symbolic link can be made here: ${reason}`, {
      at: { file: place.latest },
      hint: 'a disk that holds links, with the right to make them; or to publish on the host itself',
    });
}

/** Old versions that need not be kept: never the one that `latest` leads to, nor the newest, nor what is not as it was published. */
async function removable(
  place: Place,
  versions: readonly PublishedVersion[],
  latest: string,
  keep: PublishTask['keep'],
  effects: Effects,
): Promise<{ removed: PublishedVersion[]; problems: Problem[] }> {
  const removed: PublishedVersion[] = [];
  const problems: Problem[] = [];
  if (!keep) return { removed, problems };
  const newestMs = Date.parse(versions[0]!.asOf);
  for (const [i, version] of versions.entries()) {
    const old =
      'versions' in keep ? i >= keep.versions : Date.parse(version.asOf) < newestMs - keep.days * dayMs;
    if (!old || i === 0 || version.name === latest) continue;
    const odd = await isAsPublished(place, version, effects);
    if (odd.length === 0) removed.push(version);
    problems.push(...odd);
  }
  return { removed, problems };
}

/** Copies what the manifest names, and the manifest last; every byte is compared on its way. */
async function copyTo(partial: string, { site, manifest, entries }: Source, files: Files): Promise<void> {
  await severalAtOnce(entries, async (entry) =>
    files.write(join(partial, entry.path), await readEntry(site, entry, files)),
  );
  await files.write(join(partial, manifestName), manifest);
}
