import { createHash } from 'node:crypto';
import { join, resolve, sep } from 'node:path';
import { ellipsoidNamed, TopocentricFrame, type Ellipsoid } from '@stillmark/geodesy';
import { fail, hasErrors, ProblemError, type Problem } from '@stillmark/problems';
import {
  readProject,
  referencePositions,
  responseModels,
  type CommittedFile,
  type CommittedResponse,
  type Commitment,
  type Project,
} from '@stillmark/project';
import type { EpochSeries } from '@stillmark/records';
import { EpochStore, ReadingStore, storeLock, TrackingStore, withLock } from '@stillmark/store';
import picomatch from 'picomatch';
import type { Files } from './effects.ts';
import { checkStoreVersion } from './store-version.ts';
import { approximatePosition } from './project-settings.ts';

export const projectFile = 'project.yaml';
export const referenceFile = 'reference-positions.yaml';
export const responseFile = 'response-models.yaml';
export const releasesFile = 'releases.yaml';
export const storeFolder = 'store';

/** A project folder whose project file is sound. */
export interface ProjectFolder {
  readonly folder: string;
  readonly project: Project;
  /** Text of the project file. */
  readonly text: string;
  readonly store: EpochStore;
  readonly readings: ReadingStore;
  readonly tracking: TrackingStore;
  readonly ellipsoid: Ellipsoid;
  /** Of a store that stands in object storage. */
  readonly remote?: FoundRemote;
}

/** What was found as a store in object storage was fetched. */
export interface FoundRemote {
  /** Files of tables that hold less than they did: what was delivered for them must be read again. */
  readonly doubted: ReadonlySet<string>;
  readonly problems: readonly Problem[];
}

/**
 * Opens a project folder.
 *
 * @throws USE_FOLDER_MISSING, PROJECT_MISSING, or every problem of the project file
 */
export async function openProject(folder: string, files: Files): Promise<ProjectFolder> {
  if ((await files.kind(folder)) !== 'folder')
    fail('USE_FOLDER_MISSING', 'there is no such folder', {
      at: { file: folder },
      hint: 'the folder that holds project.yaml',
    });
  const bytes = await files.read(join(folder, projectFile));
  if (!bytes) return fail('PROJECT_MISSING', `the folder has no ${projectFile}`, { at: { file: folder } });
  const text = new TextDecoder().decode(bytes);
  const { value, problems } = readProject(text, projectFile);
  if (!value) throw new ProblemError(problems);
  await checkStoreVersion(join(folder, storeFolder), files);
  return {
    folder,
    project: value,
    text,
    store: new EpochStore(join(folder, storeFolder)),
    readings: new ReadingStore(join(folder, storeFolder)),
    tracking: new TrackingStore(join(folder, storeFolder)),
    ellipsoid: ellipsoidNamed(value.frame.ellipsoid)!,
  };
}

/** What a person has committed, in the order in which it was, and the text it stands in. */
export interface Committed<T> {
  readonly entries: T[];
  readonly text?: string;
}

/** Reference positions. */
export function openCommitments(opened: ProjectFolder, files: Files): Promise<Committed<Commitment>> {
  return openCommitted(opened, referencePositions, referenceFile, files);
}

/** Response models. */
export function openResponses(opened: ProjectFolder, files: Files): Promise<Committed<CommittedResponse>> {
  return openCommitted(opened, responseModels, responseFile, files);
}

async function openCommitted<T extends { readonly station: string }>(
  { folder, project }: ProjectFolder,
  kind: CommittedFile<T>,
  name: string,
  files: Files,
): Promise<Committed<T>> {
  const bytes = await files.read(join(folder, name));
  if (!bytes) return { entries: [] };
  const text = new TextDecoder().decode(bytes);
  const { value, problems } = kind.read(text, project, name);
  if (!value) throw new ProblemError(problems);
  return { entries: value, text };
}

/**
 * Adds entries to a file of commitments, all or none, under the lock of the store.
 *
 * @throws what would make the file unreadable; nothing is written then
 */
export async function appendCommitted<T extends { readonly station: string }>(
  opened: ProjectFolder,
  kind: CommittedFile<T>,
  name: string,
  entries: readonly T[],
  files: Files,
): Promise<void> {
  const { folder, project, store } = opened;
  await withLock(storeLock(store.folder), 'store', async () => {
    const { text } = await openCommitted(opened, kind, name, files);
    const next = entries.reduce<string | undefined>((before, entry) => kind.append(before, entry), text)!;
    // Nothing is written that could not be read again.
    throwErrors(kind.read(next, project, name).problems);
    await files.write(join(folder, name), next);
  });
}

/** Files inside the project folder that match patterns, and a problem for each pattern that matches none. */
export async function filesOf(
  { folder }: ProjectFolder,
  { files: patterns, what }: { readonly files: readonly string[]; readonly what: string },
  files: Files,
): Promise<{ paths: string[]; problems: Problem[] }> {
  const all = (await files.list(folder)).filter((path) => !path.startsWith(`${storeFolder}/`));
  const problems: Problem[] = [];
  const paths = new Set<string>();
  for (const pattern of patterns) {
    const matching = picomatch(pattern);
    const matches = all.filter((path) => matching(path));
    for (const path of matches) paths.add(path);
    if (matches.length === 0) {
      problems.push({
        code: 'INPUT_NONE',
        severity: 'error',
        message: `no file in the project folder matches ${pattern} (${what})`,
        at: { file: projectFile },
        hint: 'a path inside the project folder',
      });
    }
  }
  return { paths: [...paths].sort(), problems };
}

/**
 * Checks that a file that the project names is a file, and that no link leads out of the project folder to it, but into a folder that
 * the project file allows (`outside`).
 *
 * @throws INPUT_PLACE where it lies elsewhere, INPUT_NONE where it is no file
 */
export async function checkInside(
  { folder, project }: Pick<ProjectFolder, 'folder' | 'project'>,
  file: string,
  files: Files,
): Promise<void> {
  const path = join(folder, file);
  const real = await files.resolve(path);
  const homes = await Promise.all(
    [folder, ...project.outside.map((o) => resolve(folder, o))].map(files.resolve),
  );
  if (!homes.some((home) => real.startsWith(home.endsWith(sep) ? home : home + sep)))
    fail('INPUT_PLACE', 'the file lies outside the project folder', {
      at: { file },
      hint: 'the file itself in the project folder; or `outside:` in project.yaml with the folder that links may lead to',
    });
  const kind = await files.kind(path);
  if (kind !== 'file')
    fail('INPUT_NONE', kind === 'dangling link' ? 'the link leads to nothing' : 'this is no file', {
      at: { file },
      hint: 'a file',
    });
}

/** The first base that is held is the origin of the plan; without one, the first base. */
export function mapOrigin({ project, ellipsoid }: ProjectFolder): TopocentricFrame {
  const held = project.streams.find((s) => s.base !== undefined)?.base;
  const base =
    project.stations.find((s) => s.id === held) ??
    project.stations.find((s) => s.role === 'base') ??
    project.stations[0]!;
  return TopocentricFrame.at(ellipsoid, approximatePosition(ellipsoid, base));
}

export function sha256(bytes: Uint8Array | string): string {
  return createHash('sha256').update(bytes).digest('hex');
}

/** Says from which epochs, all up to an instant, evidence was made. */
export function hashOf({ timesMs, xyz, covariance }: EpochSeries, untilMs: number): string {
  let n = timesMs.length;
  while (n > 0 && timesMs[n - 1]! > untilMs) n--;
  const hash = createHash('sha256');
  for (const column of [timesMs.subarray(0, n), xyz.subarray(0, 3 * n), covariance.subarray(0, 6 * n)])
    hash.update(new Uint8Array(column.buffer, column.byteOffset, column.byteLength));
  return hash.digest('hex');
}

/** Throws all problems where one of them is an error. */
export function throwErrors(problems: readonly Problem[]): void {
  if (hasErrors(problems)) throw new ProblemError(problems);
}
