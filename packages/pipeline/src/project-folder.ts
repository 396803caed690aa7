import { createHash } from 'node:crypto';
import { join } from 'node:path';
import {
  ellipsoidNamed,
  radians,
  toGeocentric,
  TopocentricFrame,
  type Ellipsoid,
  type Geocentric,
} from '@stillmark/geodesy';
import { fail, hasErrors, ProblemError, type Problem } from '@stillmark/problems';
import {
  readProject,
  readReferencePositions,
  type Commitment,
  type Project,
  type Station,
  type Stream,
} from '@stillmark/project';
import type { KnownStep, ReadinessTask, Step } from '@stillmark/analysis';
import type { EpochSeries, StatementSettings } from '@stillmark/records';
import { EpochStore, ReadingStore } from '@stillmark/store';
import picomatch from 'picomatch';
import type { Files } from './effects.ts';

export const projectFile = 'project.yaml';
export const referenceFile = 'reference-positions.yaml';
export const storeFolder = 'store';

/** A project folder whose project file is sound. */
export interface ProjectFolder {
  readonly folder: string;
  readonly project: Project;
  /** Text of the project file. */
  readonly text: string;
  readonly store: EpochStore;
  readonly readings: ReadingStore;
  readonly ellipsoid: Ellipsoid;
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
  return {
    folder,
    project: value,
    text,
    store: new EpochStore(join(folder, storeFolder)),
    readings: new ReadingStore(join(folder, storeFolder)),
    ellipsoid: ellipsoidNamed(value.frame.ellipsoid)!,
  };
}

/** Commitments in the order in which they were made, and the text they stand in. */
export async function openCommitments(
  { folder, project }: ProjectFolder,
  files: Files,
): Promise<{ commitments: Commitment[]; text?: string }> {
  const bytes = await files.read(join(folder, referenceFile));
  if (!bytes) return { commitments: [] };
  const text = new TextDecoder().decode(bytes);
  const { value, problems } = readReferencePositions(text, project, referenceFile);
  if (!value) throw new ProblemError(problems);
  return { commitments: value, text };
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
 * Steps of a station in a stream that are no movement: its antenna was touched, the base it is seen from was, or the
 * processing changed.
 */
export function stepsOf(project: Project, station: string, stream: Stream): Step[] {
  return knownStepsOf(project, station, stream).filter(({ kind }) => kind !== 'structural');
}

/** The same and the structural steps of the station, or of the whole structure: all events at which its positions may step. */
export function knownStepsOf({ events }: Project, station: string, stream: Stream): KnownStep[] {
  const touched = (id: string | undefined): boolean =>
    id !== undefined && (id === station || id === stream.base);
  return events
    .filter(({ kind, station: whose, stream: which }) => {
      if (kind === 'instrument' || kind === 'base') return touched(whose);
      if (kind === 'structural') return whose === undefined || whose === station;
      return kind === 'processing' && (which === undefined || which === stream.name);
    })
    .map(({ at, what, kind }) => ({ atMs: at, what, kind }));
}

export function approximatePosition(ellipsoid: Ellipsoid, { position }: Station): Geocentric {
  return toGeocentric(ellipsoid, {
    latitude: radians(position.latitude),
    longitude: radians(position.longitude),
    height: position.height,
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

export function settingsOf({ statements }: Project): StatementSettings {
  return {
    confidence: statements.confidence,
    familySignificance: statements.familySignificance,
    power: statements.power,
    windowMs: statements.window,
    statementMs: statements.present,
    rateMs: statements.rate,
  };
}

/** What a reference period of the project must show. */
export function neededEvidence({
  reference,
  requirement,
}: Project): Pick<ReadinessTask, 'constellations' | 'settle'> {
  const { constellations, settle } = reference;
  return {
    constellations,
    settle: settle ?? { horizontal: requirement.horizontal / 4, up: requirement.up / 4 },
  };
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
