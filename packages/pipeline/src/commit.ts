import {
  prepare,
  readinessOf,
  referenceEvidence,
  type ReferenceEvidence,
  type TrackedDays,
} from '@stillmark/analysis';
import { TopocentricFrame } from '@stillmark/geodesy';
import { fail, ProblemError, type Problem } from '@stillmark/problems';
import { referencePositions, type Commitment, type Project, type Station } from '@stillmark/project';
import { dayMs, formatInstant, type CheckRecord, type EpochSeries } from '@stillmark/records';
import { checkText } from '@stillmark/wording';
import type { Effects } from './effects.ts';
import { trackedDays } from './health.ts';
import { inProjectFrame } from './project-frame.ts';
import {
  appendCommitted,
  openCommitments,
  hashOf,
  referenceFile,
  throwErrors,
  type ProjectFolder,
} from './project-folder.ts';
import { approximatePosition, neededEvidence, openBasesOf, settingsOf, stepsOf } from './project-settings.ts';
import { openUpToDate } from './remote-store.ts';
import type { View } from './views.ts';
import { epochsOf } from './succession.ts';

export interface CommitTask {
  readonly stations: readonly string[];
  readonly fromMs: number;
  readonly toMs: number;
  readonly by: string;
  /** When the person commits; the command's clock unless said. */
  readonly committedMs: number;
  /** Reason to commit a period that is not ready. */
  readonly despite?: string;
}

/**
 * Commits the reference positions of stations from their reference period, in every stream that sees them: appends them, with
 * their evidence, to `reference-positions.yaml`, all or none.
 *
 * @throws REFERENCE_STATION, REFERENCE_PERIOD where a station or the period cannot serve
 */
export async function commit(folder: string, task: CommitTask, effects: Effects): Promise<Commitment[]> {
  const { files, progress } = effects;
  const opened = await openUpToDate(folder, effects);
  const { project, store } = opened;
  const { entries: before } = await openCommitments(opened, files);
  if (!(task.toMs > task.fromMs))
    fail('REFERENCE_PERIOD', 'the reference period ends before it begins', { hint: '--from before --to' });
  const stations = [...new Set(task.stations)].map((id) => committable(project, id));

  progress(`reading epochs up to ${formatInstant(task.toMs)}`);
  const epochs = await store.read(task.toMs);
  const tracked = trackedDays(await opened.tracking.seen(task.fromMs - dayMs, task.toMs));
  const commitments = ofEachStation(stations, progress, (station) =>
    commitmentsOf(opened, task, station, { epochs, before, tracked: tracked.get(station.id) }),
  );
  await appendCommitted(opened, referencePositions, referenceFile, commitments, files);
  return commitments;
}

/** What is to be committed of each station; of those that cannot be, every problem at once, and then nothing. */
export function ofEachStation<T>(
  stations: readonly Station[],
  progress: Effects['progress'],
  of: (station: Station) => T[],
): T[] {
  const problems: Problem[] = [];
  const entries = stations.flatMap((station): T[] => {
    progress(`computing ${station.id}`);
    try {
      return of(station);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      problems.push(...error.problems);
      return [];
    }
  });
  throwErrors(problems);
  return entries;
}

export function committable(project: Project, id: string): Station {
  const station = project.stations.find((s) => s.id === id);
  if (!station) {
    return fail('REFERENCE_STATION', `station ${id} is not in the project`, {
      allowed: project.stations.map((s) => s.id),
    });
  }
  if (project.streams.every(({ base }) => base === id))
    fail('REFERENCE_STATION', `${id} is held: its position in project.yaml is its reference position`);
  return station;
}

function commitmentsOf(
  opened: ProjectFolder,
  task: CommitTask,
  station: Station,
  {
    epochs,
    before,
    tracked,
  }: {
    readonly epochs: ReadonlyMap<string, ReadonlyMap<string, EpochSeries>>;
    readonly before: readonly Commitment[];
    readonly tracked: TrackedDays | undefined;
  },
): Commitment[] {
  const commitments = opened.project.streams.flatMap((stream) => {
    const series =
      stream.base === station.id ? undefined : epochsOf(opened.project, station.id, epochs.get(stream.name));
    if (!series) return [];
    // What is committed in the same breath counts.
    const committed = new Set([
      ...task.stations,
      ...before.flatMap((c) => (c.stream === stream.name ? [c.station] : [])),
    ]);
    const seen = new Set(epochs.get(stream.name)?.keys());
    const bases = openBasesOf(opened.project, station, stream, seen, committed);
    return [
      commitmentOf(opened, task, { station, stream, series, ...bases, ...(tracked ? { tracked } : {}) }),
    ];
  });
  if (commitments.length === 0) {
    fail('REFERENCE_PERIOD', `the store holds no epochs of ${station.id} up to ${formatInstant(task.toMs)}`, {
      hint: 'to ingest its positions first',
    });
  }
  return commitments;
}

function commitmentOf(
  { project, ellipsoid }: ProjectFolder,
  task: CommitTask,
  {
    station,
    stream,
    series,
    openBases,
    tracked,
  }: Pick<View, 'station' | 'stream' | 'series' | 'openBases' | 'tracked'>,
): Commitment {
  const frame = TopocentricFrame.at(ellipsoid, approximatePosition(ellipsoid, station));
  const steps = stepsOf(project, station.id, stream);
  const prepared = prepare({
    series: inProjectFrame(project, stream, series),
    frame,
    settings: settingsOf(project),
    steps,
  });
  const evidence = referenceEvidence(prepared.windows, frame, task.fromMs, task.toMs, steps);
  const { checks } = readinessOf(prepared, {
    ...neededEvidence(project),
    ...(openBases ? { openBases } : {}),
    ...(tracked ? { tracked } : {}),
    fromMs: task.fromMs,
    toMs: task.toMs,
    steps,
  });
  const against = checks.filter(({ verdict }) => verdict !== 'pass').map(checkText);
  if (against.length > 0 && task.despite === undefined) {
    const where = project.streams.length > 1 ? ` in stream ${stream.name}` : '';
    fail(
      'REFERENCE_PERIOD',
      `the reference period of ${station.id}${where} is not ready: ${against.join('; ')}`,
      {
        hint: 'a longer period; or --despite "reason", which is recorded and shown',
      },
    );
  }
  return {
    station: station.id,
    stream: stream.name,
    from: formatInstant(task.fromMs),
    to: formatInstant(task.toMs),
    by: task.by,
    committed: formatInstant(task.committedMs),
    ...(task.despite === undefined ? {} : { despite: task.despite }),
    ...rounded(evidence, checks, hashOf(series, task.toMs)),
  };
}

function rounded(
  { position, scatter_mm: s, days, windows, expectedWindows, epochs }: ReferenceEvidence,
  checks: readonly CheckRecord[],
  store: string,
): Pick<Commitment, 'position' | 'evidence'> {
  // A micrometre in position, and in scatter: below anything that can be meant, short enough to be read.
  const micro = (metres: number): number => Number(metres.toFixed(6));
  const thousandth = (mm: number): number => Number(mm.toFixed(3));
  return {
    position: { x: micro(position.x), y: micro(position.y), z: micro(position.z) },
    evidence: {
      days,
      windows,
      expectedWindows,
      epochs,
      scatter_mm: { east: thousandth(s.east), north: thousandth(s.north), up: thousandth(s.up) },
      checks: checks.map(checkEntry),
      store,
    },
  };
}

/** A piece of evidence as files of commitments keep it. */
export function checkEntry(c: CheckRecord): NonNullable<Commitment['evidence']['checks']>[number] {
  return {
    check: c.of === undefined ? c.check : `${c.check} ${c.of}`,
    verdict: c.verdict,
    ...(c.value === undefined ? {} : { value: Number(c.value.toPrecision(4)) }),
    limit: Number(c.limit.toPrecision(4)),
    ...(c.unit === '' ? {} : { unit: c.unit }),
  };
}
