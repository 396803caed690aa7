import { join } from 'node:path';
import {
  analyseStation,
  judgeTogether,
  prepare,
  referenceEvidence,
  type Judged,
  type StationAnalysis,
} from '@stillmark/analysis';
import { degrees, TopocentricFrame, toGeodetic, type Geocentric } from '@stillmark/geodesy';
import { precisionBudget } from '@stillmark/planning';
import { fail, warning, type Problem } from '@stillmark/problems';
import type { Commitment, Project, Station } from '@stillmark/project';
import {
  formatInstant,
  type EpochSeries,
  type InputRecord,
  type SiteView,
  type Snapshot,
  type StationRecord,
  type StationSeries,
} from '@stillmark/records';
import type { Effects, Producer } from './effects.ts';
import {
  approximatePosition,
  openCommitments,
  openProject,
  projectFile,
  referenceFile,
  settingsOf,
  sha256,
  storeFolder,
  type ProjectFolder,
} from './project-folder.ts';

/**
 * Everything that can be stated of a project from all epochs up to an as-of time.
 *
 * @param asOfMs the newest epoch where it is not given; never the clock
 * @throws STORE_EMPTY where there is nothing to state from
 */
export async function computeState(
  folder: string,
  asOfMs: number | undefined,
  producer: Producer,
  { files, progress }: Effects,
): Promise<SiteView> {
  const opened = await openProject(folder, files);
  const { project, store } = opened;
  const { commitments, text: referenceText } = await openCommitments(opened, files);
  const stream = project.streams[0]!;
  const newest = await store.newest(stream.name);
  if (newest === undefined)
    return fail('STORE_EMPTY', 'the store holds no epochs', {
      at: { file: join(folder, storeFolder) },
      hint: '`stillmark ingest` first',
    });
  const until = asOfMs ?? newest;
  progress(`reading epochs up to ${formatInstant(until)}`);
  const epochs = await store.read(stream.name, until);

  const settings = settingsOf(project);
  const analysed = project.stations.map((station) => {
    progress(`computing ${station.id}`);
    const commitment = commitmentOf(station, stream.name, commitments, until);
    return {
      station,
      commitment,
      analysis: analyse(opened, station, commitment, epochs.get(station.id), until),
    };
  });
  const judged = analysed.filter((a) => a.analysis.judged);
  const statements = judgeTogether(
    judged.map((a) => a.analysis.judged as Judged),
    settings,
  );
  const statementOf = new Map(judged.map((a, i) => [a.station.id, statements[i]!]));

  const origin = originOf(opened);
  const stations = analysed.map(({ station, commitment, analysis }): StationRecord => {
    const { data, statement } = analysis;
    return {
      ...describeStation(opened, station, origin),
      ...(data ? { data } : {}),
      ...(commitment ? { reference: referenceRecord(commitment) } : {}),
      statement: statementOf.get(station.id) ?? statement ?? { kind: 'no-data' },
      ...(analysis.series
        ? {
            series: {
              epochs: `series/${station.id}-epochs.parquet`,
              windows: `series/${station.id}-windows.parquet`,
            },
          }
        : {}),
    };
  });

  const snapshot: Snapshot = {
    format: 'stillmark-snapshot',
    version: 1,
    producer,
    asOf: formatInstant(until),
    validUntil: formatInstant(until + 2 * project.processingInterval),
    project: projectRecord(project),
    settings,
    headline: headlineOf(stations, 2 * judged.length),
    network: {
      held: project.streams.map((s) => s.base),
      observed: project.stations.filter((s) => s.role === 'base' && s.id !== stream.base).map((s) => s.id),
    },
    map: { origin: originRecord(origin) },
    stations,
    inputs: await inputsOf(opened, referenceText, files),
    doubts: stations.flatMap(doubtsOf),
  };
  const series = new Map<string, StationSeries>();
  for (const { station, analysis } of analysed) if (analysis.series) series.set(station.id, analysis.series);
  return { snapshot, series };
}

function analyse(
  opened: ProjectFolder,
  station: Station,
  commitment: Commitment | undefined,
  series: EpochSeries | undefined,
  asOfMs: number,
): StationAnalysis {
  const { project, ellipsoid } = opened;
  if (station.id === project.streams[0]!.base) return { statement: { kind: 'held' } };
  if (!series || series.timesMs.length === 0) return { statement: { kind: 'no-data' } };
  const settings = settingsOf(project);
  const near = TopocentricFrame.at(ellipsoid, approximatePosition(ellipsoid, station));
  const frame = commitment
    ? TopocentricFrame.at(ellipsoid, commitment.position)
    : centred(near, series, settings, ellipsoid);
  return analyseStation({
    series,
    frame,
    settings,
    asOfMs,
    processingIntervalMs: project.processingInterval,
    ...(commitment
      ? { reference: { fromMs: Date.parse(commitment.from), toMs: Date.parse(commitment.to) } }
      : {}),
  });
}

/** Without a reference position the series is shown about its mean, which is no statement. */
function centred(
  near: TopocentricFrame,
  series: EpochSeries,
  settings: Snapshot['settings'],
  ellipsoid: ProjectFolder['ellipsoid'],
): TopocentricFrame {
  const { windows } = prepare({ series, frame: near, settings });
  if (windows.slot.length === 0)
    return TopocentricFrame.at(ellipsoid, { x: series.xyz[0]!, y: series.xyz[1]!, z: series.xyz[2]! });
  const { position } = referenceEvidence(
    windows,
    near,
    windows.slot[0]! * windows.windowMs,
    (windows.slot.at(-1)! + 1) * windows.windowMs,
  );
  return TopocentricFrame.at(ellipsoid, position);
}

/** The commitment that counts at an instant: the last of those whose period has ended by then. */
function commitmentOf(
  station: Station,
  stream: string,
  commitments: readonly Commitment[],
  asOfMs: number,
): Commitment | undefined {
  return commitments.findLast(
    (c) => c.station === station.id && c.stream === stream && Date.parse(c.to) <= asOfMs,
  );
}

function describeStation(
  { project, ellipsoid }: ProjectFolder,
  station: Station,
  origin: TopocentricFrame,
): Omit<StationRecord, 'statement'> {
  const point = approximatePosition(ellipsoid, station);
  const geodetic = toGeodetic(ellipsoid, point);
  const local = origin.fromGeocentric(point);
  const stream = project.streams[0]!;
  const base = project.stations.find((s) => s.id === stream.base)!;
  const basePoint = approximatePosition(ellipsoid, base);
  const length = distance(point, basePoint);
  return {
    id: station.id,
    role: station.role,
    on: station.on,
    ...(station.antenna ? { antenna: station.antenna } : {}),
    ...(station.monument ? { monument: station.monument } : {}),
    ...(station.installed === undefined ? {} : { installed: formatInstant(station.installed) }),
    position: {
      latitudeDeg: degrees(geodetic.latitude),
      longitudeDeg: degrees(geodetic.longitude),
      height_m: geodetic.height,
      east_m: local.east,
      north_m: local.north,
      up_m: local.up,
    },
    ...(station === base
      ? {}
      : {
          stream: {
            name: stream.name,
            kind: stream.kind,
            base: base.id,
            solution: stream.solution,
            baselineLength_m: length,
            heightDifference_m: station.position.height - base.position.height,
          },
        }),
    ...(station.receiver && station !== base ? { budget: precisionBudget(station.receiver, length) } : {}),
  };
}

function distance(a: Geocentric, b: Geocentric): number {
  return Math.hypot(a.x - b.x, a.y - b.y, a.z - b.z);
}

/** The held base is the origin of the map. */
function originOf({ project, ellipsoid }: ProjectFolder): TopocentricFrame {
  const base = project.stations.find((s) => s.id === project.streams[0]!.base)!;
  return TopocentricFrame.at(ellipsoid, approximatePosition(ellipsoid, base));
}

function originRecord({ geodetic }: TopocentricFrame): Snapshot['map']['origin'] {
  return {
    latitudeDeg: degrees(geodetic.latitude),
    longitudeDeg: degrees(geodetic.longitude),
    height_m: geodetic.height,
  };
}

function referenceRecord(c: Commitment): NonNullable<StationRecord['reference']> {
  return {
    from: c.from,
    to: c.to,
    by: c.by,
    committed: c.committed,
    windows: c.evidence.windows,
    epochs: c.evidence.epochs,
    ...(c.despite === undefined ? {} : { despite: c.despite }),
  };
}

function projectRecord(project: Project): Snapshot['project'] {
  const { title, purpose, timeZone, frame, requirement } = project;
  return {
    title,
    ...(purpose ? { purpose } : {}),
    timeZone,
    frame: { name: frame.name, ellipsoid: frame.ellipsoid, ...(frame.epoch ? { epoch: frame.epoch } : {}) },
    processingIntervalMs: project.processingInterval,
    requirement: { horizontal_mm: 1000 * requirement.horizontal, up_mm: 1000 * requirement.up },
    responsible: project.responsible,
    events: project.events.map(({ at, what, station }) => ({
      at: formatInstant(at),
      what,
      ...(station === undefined ? {} : { station }),
    })),
  };
}

function headlineOf(stations: readonly StationRecord[], tests: number): Snapshot['headline'] {
  const monitoring = stations.filter((s) => s.role === 'monitoring');
  const moved = ({ statement: s }: StationRecord): boolean =>
    s.kind === 'displacement' && (s.horizontal.distinguishable || s.up.distinguishable);
  const ids = (keep: (s: StationRecord) => boolean): string[] => monitoring.filter(keep).map((s) => s.id);
  return {
    moved: ids(moved),
    still: ids((s) => s.statement.kind === 'displacement' && !moved(s)),
    open: ids((s) => s.statement.kind !== 'displacement'),
    tests,
  };
}

function doubtsOf({ id, data }: StationRecord): Problem[] {
  if (!data) return [];
  const doubts: Problem[] = [];
  if (data.conflicts > 0)
    doubts.push(
      warning(
        'STORE_CONFLICT',
        `${id}: ${data.conflicts} epochs have two different positions for one time; none of them is used`,
      ),
    );
  for (const run of data.unconfirmed) {
    doubts.push(
      warning(
        'INPUT_POSITION',
        `${id}: ${run.epochs} epochs in a row from ${run.from} to ${run.to} deviate from those around them; perhaps a step, not confirmed`,
      ),
    );
  }
  return doubts;
}

async function inputsOf(
  { text, store, folder }: ProjectFolder,
  referenceText: string | undefined,
  files: Effects['files'],
): Promise<InputRecord[]> {
  const inputs: InputRecord[] = [{ path: projectFile, sha256: sha256(text) }];
  if (referenceText !== undefined) inputs.push({ path: referenceFile, sha256: sha256(referenceText) });
  const partitions = await store.partitions();
  const rows = await store.rowCounts(partitions);
  for (const [i, partition] of partitions.entries()) {
    const path = `${storeFolder}/${partition.path}`;
    inputs.push({ path, sha256: sha256((await files.read(join(folder, path)))!), rows: rows[i]! });
  }
  return inputs;
}
