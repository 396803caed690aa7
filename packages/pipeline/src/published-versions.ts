import { basename, dirname, join, sep } from 'node:path';
import { fail, ProblemError, warning, type Problem } from '@stillmark/problems';
import type { PublishedVersion, PublishedVersions } from '@stillmark/records';
import { manifestName, parseVersions, serialiseVersions, versionsName } from '@stillmark/snapshot';
import type { Effects, Files } from './effects.ts';
import { sha256 } from './project-folder.ts';
import { verify } from './verify.ts';

/** A folder in which snapshots are published: `latest`, a link, and `versions`. */
export interface Place {
  readonly folder: string;
  readonly versions: string;
  readonly latest: string;
  readonly lock: string;
  /** The link before it takes the place of `latest`. */
  readonly nextLink: string;
  /** Inside `versions`, so that one rename puts a folder in its place on any disk. */
  readonly partial: string;
  /** What is taken away is moved here first: at its address it is whole, or not there. */
  readonly removed: string;
  /** What this command is about to add and take away: should it be stopped, the next one knows what is its own. */
  readonly underway: string;
}

const recordOf = ({ versions }: Place): string => join(versions, versionsName);
const pageOf = ({ versions }: Place): string => join(versions, 'index.html');

/**
 * A folder that may be published into: whatever else is in it is never touched.
 *
 * @param site folder of the snapshot, with links followed
 * @throws USE_FOLDER_MISSING, USE_OUTPUT_TAKEN, USE_OPTION; nothing has been written then
 */
export async function placeAt(to: string, site: string, files: Files): Promise<Place> {
  if (to.trim() === '') fail('USE_OPTION', 'the folder to publish into has no name');
  const taken = (file: string, what: string, hint: string): never =>
    fail('USE_OUTPUT_TAKEN', what, { at: { file }, hint });
  if ((await files.kind(to)) === 'dangling link')
    taken(
      to,
      'the folder to publish into is a link that leads to nothing',
      'a folder, or a link to one that exists',
    );
  const full = await files.resolve(to);
  const home = await files.resolve(dirname(full));
  if ((await files.kind(home)) !== 'folder')
    fail('USE_FOLDER_MISSING', 'the folder that is to hold the published snapshots does not exist', {
      at: { file: home },
    });
  const folder = join(home, basename(full));
  if (folder === site || folder.startsWith(site + sep))
    fail('USE_OPTION', 'a snapshot cannot be published into itself', {
      at: { file: folder },
      hint: 'a folder beside the snapshot',
    });
  const versions = join(folder, 'versions');
  const latest = join(folder, 'latest');
  for (const path of [folder, versions]) {
    const kind = await files.kind(path);
    if (kind !== 'folder' && kind !== 'nothing')
      taken(path, 'there is something else than a folder where snapshots are published', 'a folder');
  }
  const link = await files.readLink(latest);
  const ours = link === undefined ? (await files.kind(latest)) === 'nothing' : /^versions\/[^/]+$/.test(link);
  if (!ours)
    taken(
      latest,
      'latest is there, and is no link to a version; it was not touched',
      'another folder, or to move it away',
    );
  return {
    folder,
    versions,
    latest,
    lock: join(folder, '.stillmark-lock'),
    nextLink: join(folder, '.stillmark-latest'),
    partial: join(versions, '.stillmark-partial'),
    removed: join(versions, '.stillmark-removed'),
    underway: join(versions, '.stillmark-underway.json'),
  };
}

/**
 * What stands in a place by the record of this command, after sweeping up behind one that was stopped. Of a version whose folder somebody took away
 * nothing is left but a warning.
 *
 * @throws USE_OUTPUT_TAKEN where `versions` holds things and no record, SNAPSHOT_FORMAT where the record cannot be read
 */
export async function openPublished(
  place: Place,
  files: Files,
): Promise<{
  known: PublishedVersion[];
  /** Names in the record; of the others only what is underway tells. */
  recorded: ReadonlySet<string>;
  latest?: string;
  problems: Problem[];
}> {
  const half = [place.underway, recordOf(place), pageOf(place)].map((path) => `${path}.partial`);
  for (const path of [place.partial, place.removed, place.nextLink, ...half]) await files.remove(path);
  const read = async (path: string): Promise<PublishedVersions | undefined> => {
    const bytes = await files.read(path);
    return bytes && parseVersions(new TextDecoder().decode(bytes), path);
  };
  const record = await read(recordOf(place));
  const underway = await read(place.underway);
  if (!record && !underway && (await files.kind(place.versions)) === 'folder') {
    if (!(await files.isEmpty(place.versions)))
      fail('USE_OUTPUT_TAKEN', `the folder of versions holds something, and no ${versionsName}`, {
        at: { file: place.versions },
        hint: `another folder; or ${versionsName} as \`stillmark publish\` wrote it`,
      });
  }
  const known: PublishedVersion[] = [];
  const problems: Problem[] = [];
  for (const version of [...(record?.versions ?? []), ...(underway?.versions ?? [])]) {
    if (known.some(({ name }) => name === version.name)) continue;
    const folder = join(place.versions, version.name);
    if ((await files.kind(folder)) === 'folder') known.push(version);
    // Of what was underway nothing may have come yet, or have stayed.
    else if (!underway?.versions.some(({ name }) => name === version.name))
      problems.push(
        warning('SNAPSHOT_FILE', `version ${version.name} is not there any more, and is listed no longer`, {
          at: { file: folder },
          hint: '--keep or --keep-days, which takes versions away and says so',
        }),
      );
  }
  const latest = record?.latest ?? underway?.latest;
  const recorded = new Set(record?.versions.map(({ name }) => name));
  return { known: inOrder(known), recorded, ...(latest === undefined ? {} : { latest }), problems };
}

/** Newest as-of time first; of one time in the order given. */
export function inOrder(versions: readonly PublishedVersion[]): PublishedVersion[] {
  return versions.toSorted((a, b) => Date.parse(b.asOf) - Date.parse(a.asOf));
}

/** Whether a published version still is what was published, and nothing else: only then may it be taken away. */
export async function isAsPublished(
  place: Place,
  { name, manifest }: PublishedVersion,
  effects: Effects,
): Promise<Problem[]> {
  const folder = join(place.versions, name);
  const kept = (message: string): Problem[] => [
    warning('PUBLISH_KEPT', message, {
      at: { file: folder },
      hint: 'to look into it, and to take it away by hand',
    }),
  ];
  if ((await effects.files.readLink(folder)) !== undefined) return kept('the version is a link now');
  const text = await effects.files.read(join(folder, manifestName));
  if (!text || sha256(text) !== manifest)
    return kept('the manifest of the version is not the one that was published');
  const { problems } = await verify(folder, effects).catch((error: unknown) => {
    if (error instanceof ProblemError) return { problems: error.problems };
    throw error;
  });
  if (problems.length === 0) return [];
  const [first] = problems;
  return kept(
    `the version is not as it was published: ${first!.at?.file ?? ''}, ${first!.message}${problems.length > 1 ? `, and ${problems.length - 1} more` : ''}`,
  );
}

/** Writes a file where its bytes are others. */
async function writeChanged(path: string, bytes: Uint8Array | string, files: Files): Promise<void> {
  const next = Buffer.from(bytes);
  const now = await files.read(path);
  if (!now || !next.equals(now)) await files.write(path, next);
}

/** Writes the record, and beside it the page. */
export async function writePublished(
  place: Place,
  published: PublishedVersions,
  page: string,
  assets: ReadonlyMap<string, Uint8Array>,
  files: Files,
): Promise<void> {
  for (const [path, bytes] of assets) await writeChanged(join(place.versions, path), bytes, files);
  await writeChanged(recordOf(place), serialiseVersions(published), files);
  await writeChanged(pageOf(place), page, files);
}
