import { join } from 'node:path';
import { prepare, referenceEvidence, type ReferenceEvidence } from '@stillmark/analysis';
import { TopocentricFrame } from '@stillmark/geodesy';
import { fail } from '@stillmark/problems';
import { appendCommitment, readReferencePositions, type Commitment } from '@stillmark/project';
import { formatInstant, type EpochSeries } from '@stillmark/records';
import { withLock } from '@stillmark/store';
import type { Effects } from './effects.ts';
import {
  approximatePosition,
  openCommitments,
  openProject,
  referenceFile,
  settingsOf,
  sha256,
  throwErrors,
} from './project-folder.ts';

export interface CommitTask {
  readonly station: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly by: string;
  /** When the person commits; the command's clock unless said. */
  readonly committedMs: number;
  /** Reason to commit a period that is not ready. */
  readonly despite?: string;
}

/**
 * Commits the reference position of a station from its reference period: appends it, with its evidence, to
 * `reference-positions.yaml`.
 *
 * @throws REFERENCE_STATION, REFERENCE_PERIOD where the station or the period cannot serve
 */
export async function commit(
  folder: string,
  task: CommitTask,
  { files, progress }: Effects,
): Promise<Commitment> {
  const opened = await openProject(folder, files);
  const { project, ellipsoid, store } = opened;
  await openCommitments(opened, files);
  const station = project.stations.find((s) => s.id === task.station);
  if (!station) {
    return fail('REFERENCE_STATION', `station ${task.station} is not in the project`, {
      allowed: project.stations.map((s) => s.id),
    });
  }
  const stream = project.streams[0]!;
  if (stream.base === station.id) {
    fail(
      'REFERENCE_STATION',
      `${station.id} is held: its position in project.yaml is its reference position`,
    );
  }
  if (!(task.toMs > task.fromMs))
    fail('REFERENCE_PERIOD', 'the reference period ends before it begins', { hint: '--from before --to' });

  progress(`reading epochs of ${station.id}`);
  const series = (await store.read(stream.name, task.toMs)).get(station.id);
  if (!series)
    return fail(
      'REFERENCE_PERIOD',
      `the store holds no epochs of ${station.id} up to ${formatInstant(task.toMs)}`,
      { hint: 'to ingest its positions first' },
    );
  const frame = TopocentricFrame.at(ellipsoid, approximatePosition(ellipsoid, station));
  const { windows } = prepare({ series, frame, settings: settingsOf(project) });
  const evidence = referenceEvidence(windows, frame, task.fromMs, task.toMs);
  if (evidence.against.length > 0 && task.despite === undefined) {
    fail(
      'REFERENCE_PERIOD',
      `the reference period of ${station.id} is not ready: ${evidence.against.join('; ')}`,
      {
        hint: 'a longer period; or --despite "reason", which is recorded and shown',
      },
    );
  }
  const commitment: Commitment = {
    station: station.id,
    stream: stream.name,
    from: formatInstant(task.fromMs),
    to: formatInstant(task.toMs),
    by: task.by,
    committed: formatInstant(task.committedMs),
    ...(task.despite === undefined ? {} : { despite: task.despite }),
    ...rounded(evidence, hashOf(series)),
  };
  await withLock(store.folder, async () => {
    const { text } = await openCommitments(opened, files);
    const next = appendCommitment(text, commitment);
    // Nothing is written that could not be read again.
    const { problems } = readReferencePositions(next, project, referenceFile);
    throwErrors(problems);
    await files.write(join(folder, referenceFile), next);
  });
  return commitment;
}

/** Says from which epochs, all up to the end of the period, the evidence was made. */
function hashOf({ timesMs, xyz, covariance }: EpochSeries): string {
  return sha256(new Uint8Array(Float64Array.from([...timesMs, ...xyz, ...covariance]).buffer));
}

function rounded(
  { position, scatter_mm: s, days, windows, expectedWindows, epochs }: ReferenceEvidence,
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
      store,
    },
  };
}
