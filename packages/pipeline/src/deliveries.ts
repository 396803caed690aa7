import { join } from 'node:path';
import {
  earliestMs,
  factorsOf,
  farAway,
  largestVariance,
  NmeaPositions,
  readPositions,
  readReadings,
  SinexReader,
  type PositionsFile,
  type PositionsTask,
} from '@stillmark/formats';
import { ellipsoidsAgree, geocentricKind } from '@stillmark/geodesy';
import { fail } from '@stillmark/problems';
import { columnsOf, type PositionColumn, type Sensor, type Stream } from '@stillmark/project';
import { dayMs, gpsMinusUtcSeconds, type EpochRow } from '@stillmark/records';
import type { DeliveredCsv } from '@stillmark/store';
import { coordinateKind } from './coordinate-kind.ts';
import { joined, ownerOf, spanOf, type Delivery, type Source } from './delivery.ts';
import { mostWhole, type Part } from './delivered-file.ts';
import type { Effects } from './effects.ts';
import { projectFile, sha256, type ProjectFolder } from './project-folder.ts';
import { approximatePosition } from './project-settings.ts';
import { trackingSources } from './tracking-files.ts';

/** A clock may be wrong by so much before an epoch is called a thing of the future. */
export const clockMarginMs = dayMs;

/** Everything that a project expects files for. */
export function sourcesOf(opened: ProjectFolder, effects: Effects): Source[] {
  const { project } = opened;
  const latestMs = effects.nowMs() + clockMarginMs;
  return [
    ...project.streams.map((stream): Source => ({
      what: `stream ${stream.name}`,
      files: stream.files,
      manner: sha256(JSON.stringify([stream, project.stations.map(({ id, position }) => [id, position])])),
      table: 'epochs',
      read: (file, part, add) => readStreamFile(opened, stream, latestMs, file, part, add),
    })),
    ...project.sensors.map((sensor): Source => ({
      what: `sensor ${sensor.name}`,
      files: sensor.files,
      manner: sha256(JSON.stringify(sensor)),
      table: 'readings',
      read: (_, part, add) => readSensorFile(opened, sensor, latestMs, part, add),
    })),
    ...trackingSources(opened, effects, latestMs),
  ];
}

async function readStreamFile(
  opened: ProjectFolder,
  stream: Stream,
  latestMs: number,
  file: string,
  part: Part,
  add: boolean,
): Promise<Delivery> {
  const { project, ellipsoid, store, folder } = opened;
  const stations = new Map(
    project.stations.map((station) => [station.id, approximatePosition(ellipsoid, station)]),
  );
  const keep = async ({ rows, rejected }: PositionsFile): Promise<Delivery> => {
    const { added } = add ? await store.add(rows) : { added: 0 };
    return { rows: rows.length, rejected, added, ...spanOf(rows) };
  };
  if (stream.format === 'sinex') {
    const sites = stream.sites && new Map(Object.entries(stream.sites).map(([id, code]) => [code, id]));
    const { name, timeScale } = stream;
    const reader = new SinexReader(part.name, {
      stream: name,
      timeScale,
      latestMs,
      stations,
      ...(sites ? { sites } : {}),
    });
    for await (const chunk of part.chunks()) reader.take(chunk);
    return keep(reader.end());
  }
  if (stream.format === 'nmea') {
    const station = ownerOf(file, stream.sites ?? {}, `stream ${stream.name}`);
    return readLog(part, add ? store : undefined, (onRow) => {
      const task = {
        stream: stream.name,
        station,
        near: stations.get(station)!,
        ellipsoid,
        qualities: stream.qualities,
        latestMs,
        coarsest: project.requirement.horizontal,
      };
      return new NmeaPositions(part.name, task, onRow);
    });
  }
  const task: PositionsTask = {
    stream: stream.name,
    timeScale: stream.timeScale,
    kind: coordinateKind(stream.coordinates, {}, project),
    ...columnNames(stream),
    units: stream.units,
    dialect: stream.dialect,
    latestMs,
    stations,
  };
  checkDatum(opened, stream, task);
  const plain = part.packed ? undefined : await plainCsv(join(folder, file), part, task);
  if (plain) {
    const found = add ? await store.addDelivered(plain) : await store.examineDelivered(plain);
    if (found) return { rejected: [], rows: found.added + found.repeated, ...found };
  }
  return keep(readPositions(await part.bytes(), part.name, task));
}

/** Positions that are added at once: a log may hold millions. */
const batchRows = 200_000;

/** Reads a log in pieces, and adds what it holds in batches. */
async function readLog(
  part: Part,
  store: ProjectFolder['store'] | undefined,
  open: (onRow: (row: EpochRow) => void) => NmeaPositions,
): Promise<Delivery> {
  let batch: EpochRow[] = [];
  let [rows, added] = [0, 0];
  let span: Pick<Delivery, 'firstMs' | 'lastMs'> = {};
  const flush = async (): Promise<void> => {
    if (batch.length === 0) return;
    rows += batch.length;
    span = joined(span, spanOf(batch));
    if (store) added += (await store.add(batch)).added;
    batch = [];
  };
  const reader = open((row) => batch.push(row));
  for await (const chunk of part.chunks()) {
    reader.take(chunk);
    if (batch.length >= batchRows) await flush();
  }
  reader.end();
  await flush();
  return { rows, rejected: reader.rejected, added, ...span };
}

/** Names of the columns that a stream reads, by what they hold. */
function columnNames(stream: Stream): Pick<PositionsTask, 'columns' | 'uncertainty'> {
  const found = columnsOf(stream);
  // The project file was checked when it was read.
  if ('missing' in found) throw new Error(`columns of ${stream.name}`);
  const named = (name: PositionColumn): string => stream.columns[name]!;
  return {
    columns: {
      station: named('station'),
      time: named('time'),
      coordinates: found.coordinates.map(named) as [string, string, string],
      uncertainty: found.uncertainty.map(named),
    },
    uncertainty: found.kind,
  };
}

/** Coordinates on another ellipsoid than that of the project belong to another datum. */
function checkDatum(
  { ellipsoid, project, folder }: ProjectFolder,
  stream: Stream,
  { kind }: PositionsTask,
): void {
  if (!kind.ellipsoid || stream.frame || ellipsoidsAgree(kind.ellipsoid, ellipsoid)) return;
  fail(
    'GEODESY_FRAME',
    `stream ${stream.name} is in ${kind.name} coordinates on ${kind.ellipsoid.name}, the frame ${project.frame.name} stands on ${ellipsoid.name}`,
    {
      at: { file: join(folder, projectFile) },
      hint: 'the frame of the stream, and a transformation from it',
    },
  );
}

async function readSensorFile(
  { readings }: ProjectFolder,
  sensor: Sensor,
  latestMs: number,
  part: Part,
  add: boolean,
): Promise<Delivery> {
  const { rows, rejected } = readReadings(await part.bytes(), part.name, {
    sensor: sensor.name,
    timeScale: sensor.timeScale,
    columns: sensor.columns,
    dialect: sensor.dialect,
    latestMs,
  });
  const { added } = add ? await readings.add(rows) : { added: 0 };
  return { rows: rows.length, rejected, added, ...spanOf(rows) };
}

/** GPS time and UTC differ by the same seconds from here on. */
const steadyGpsMs = Date.UTC(2017, 0, 2);

/**
 * The file as the store's fast lane takes it, where nothing in its bytes needs the reader of rows: no quotes, lines that end
 * with a line feed to the last, one header.
 */
async function plainCsv(path: string, part: Part, task: PositionsTask): Promise<DeliveredCsv | undefined> {
  const { kind, uncertainty, dialect } = task;
  const usual =
    dialect.delimiter === ',' &&
    dialect.decimal === '.' &&
    dialect.time === undefined &&
    dialect.utcOffset === undefined;
  if (kind !== geocentricKind || uncertainty !== 'covariance' || !usual) return undefined;
  const plain = await plainBytes(part);
  if (!plain) return undefined;
  const { header, underscores } = plain;
  const { coordinates: c, uncertainty: u, station, time } = task.columns;
  const [x, y, z] = c;
  const [xx, xy, xz, yy, yz, zz] = u as [string, string, string, string, string, string];
  const columns = { station, time, x, y, z, xx, xy, xz, yy, yz, zz };
  const wanted = Object.values(columns);
  const each = wanted.every((name) => header.filter((h) => h === name).length === 1);
  if (!each) return undefined;
  const gps = task.timeScale === 'GPS';
  return {
    path,
    stream: task.stream,
    underscores,
    header,
    columns,
    ...factorsOf(task.units),
    aheadSeconds: gps ? gpsMinusUtcSeconds(steadyGpsMs) : 0,
    earliestMs: gps ? steadyGpsMs : earliestMs,
    latestMs: task.latestMs,
    stations: task.stations,
    farAway,
    largestVariance,
  };
}

/** The header of a file without anything odd in its bytes, and whether underscores follow it; in pieces, since a file may be large. */
async function plainBytes(part: Part): Promise<{ header: string[]; underscores: boolean } | undefined> {
  const [quote, lineFeed, carriageReturn, nul, underscore] = [0x22, 0x0a, 0x0d, 0, 0x5f];
  const begin: Uint8Array[] = [];
  let header: string[] | undefined;
  let [size, last, underscores] = [0, -1, false];
  for await (const chunk of part.chunks()) {
    if ([quote, carriageReturn, nul].some((byte) => chunk.includes(byte))) return undefined;
    size += chunk.length;
    // What is too large as a whole is told by the reader of rows.
    if (size > mostWhole) return undefined;
    let from = 0;
    if (!header) {
      const end = chunk.indexOf(lineFeed);
      begin.push(end < 0 ? chunk : chunk.subarray(0, end));
      if (end >= 0) header = new TextDecoder('utf-8').decode(Buffer.concat(begin)).split(',');
      from = end < 0 ? chunk.length : end;
    }
    underscores ||= chunk.includes(underscore, from);
    last = chunk.at(-1) ?? last;
  }
  return header && last === lineFeed ? { header, underscores } : undefined;
}
