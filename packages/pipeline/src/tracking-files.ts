import { ReceiverTally, SkyTally } from '@stillmark/analysis';
import { NmeaSky, RinexObservations, type RejectedRow } from '@stillmark/formats';
import { TopocentricFrame, type SkyPositions } from '@stillmark/geodesy';
import { fail } from '@stillmark/problems';
import type { Tracking } from '@stillmark/project';
import { type ObservationHead, type TrackingRow } from '@stillmark/records';
import { join } from 'node:path';
import { joined, ownerOf, type Delivery, type Source } from './delivery.ts';
import { type Part } from './delivered-file.ts';
import type { Effects } from './effects.ts';
import { filesOf, sha256, type ProjectFolder } from './project-folder.ts';
import { skyFrom } from './orbit-files.ts';
import { approximatePosition } from './project-settings.ts';

/** Further from where its station stands than this, metres, a file of observations is that of another. */
const elsewhere = 1000;

/** Everything that says what receivers tracked. */
export function trackingSources(opened: ProjectFolder, effects: Effects, latestMs: number): Source[] {
  return opened.project.tracking.map((tracking): Source => {
    // Read once for all files, when the first of them comes.
    let sky: ReturnType<typeof skyFrom> | undefined;
    return {
      what: `tracking ${tracking.name}`,
      files: tracking.files,
      manner: sha256(
        JSON.stringify([tracking, opened.project.stations.map(({ id, position }) => [id, position])]),
      ),
      table: 'tracking',
      read: async (file, part, add) => {
        if (tracking.format === 'nmea') return readSkyLog(opened, tracking, file, part, add, latestMs);
        if (tracking.orbits.length > 0)
          sky ??= skyFrom(opened, tracking.orbits, `orbits of ${tracking.name}`, latestMs, effects.files);
        return readObservations(opened, tracking, (await sky)?.sky, file, part, add, latestMs);
      },
      beside: async () => {
        if (tracking.orbits.length === 0) return '';
        const what = `orbits of ${tracking.name}`;
        const { paths } = await filesOf(opened, { files: tracking.orbits, what }, effects.files);
        const stamps = await Promise.all(paths.map((path) => effects.files.stamp(join(opened.folder, path))));
        return sha256(JSON.stringify([paths, stamps]));
      },
      problems: async () => (await sky)?.problems ?? [],
    };
  });
}

async function readSkyLog(
  opened: ProjectFolder,
  tracking: Tracking,
  file: string,
  part: Part,
  add: boolean,
  latestMs: number,
): Promise<Delivery> {
  const { name, mask, qualities, sites = {} } = tracking;
  const rows: TrackingRow[] = [];
  const station = ownerOf(file, sites, `tracking ${name}`);
  const tally = new SkyTally(
    { source: name, station, manner: mannerOf(tracking), maskDeg: mask, qualities },
    (row) => rows.push(row),
  );
  const reader = new NmeaSky(part.name, latestMs, (epoch) => tally.take(epoch));
  for await (const chunk of part.chunks()) reader.take(chunk);
  reader.end();
  tally.end();
  return keep(opened, rows, reader.rejected, add);
}

async function readObservations(
  opened: ProjectFolder,
  tracking: Tracking,
  sky: SkyPositions | undefined,
  file: string,
  part: Part,
  add: boolean,
  latestMs: number,
): Promise<Delivery> {
  const { name, mask, sites } = tracking;
  const rows: TrackingRow[] = [];
  let tally: ReceiverTally | undefined;
  const reader = new RinexObservations(part.name, {
    head: (head) => {
      const station = sites ? ownerOf(file, sites, `tracking ${name}`) : stationOf(opened, head, part.name);
      tally = new ReceiverTally(
        {
          source: name,
          station,
          manner: mannerOf(tracking),
          frame: frameOf(opened, station, head, part.name),
          maskDeg: mask,
          channels: channelsOf(head, sky),
          ...(sky ? { sky } : {}),
          ...(head.intervalMs === undefined ? {} : { intervalMs: head.intervalMs }),
        },
        (row) => rows.push(row),
      );
    },
    epoch: (epoch) => {
      if (epoch.timeMs > latestMs)
        fail('INPUT_TIME', 'the time of an epoch lies in the future', {
          at: { file: part.name },
          hint: 'times that have passed, in the time scale that the head names',
        });
      tally!.take(epoch);
    },
  });
  for await (const chunk of part.chunks()) reader.take(chunk);
  reader.end();
  tally?.end();
  const lacking = tally?.lacksOrbits === true;
  return { ...(await keep(opened, rows, reader.rejected, add)), ...(lacking ? { lacking } : {}) };
}

/** How hours are read: what was read otherwise is not used any more. */
export function mannerOf({ mask, format, qualities }: Tracking): string {
  return format === 'nmea' ? `mask ${mask}, qualities ${qualities.join(' ')}` : `mask ${mask}`;
}

/** Frequencies of GLONASS satellites, as the head tells them, or the orbits. */
function channelsOf({ channels }: ObservationHead, sky: SkyPositions | undefined): Map<string, number> {
  const all = new Map(channels);
  for (const satellite of sky?.satellites ?? []) {
    const channel = sky!.channel(satellite);
    if (channel !== undefined && !all.has(satellite)) all.set(satellite, channel);
  }
  return all;
}

async function keep(
  { tracking }: ProjectFolder,
  rows: readonly TrackingRow[],
  rejected: readonly RejectedRow[],
  add: boolean,
): Promise<Delivery> {
  const { added } = add ? await tracking.add(rows) : { added: 0 };
  const span = rows.reduce<Pick<Delivery, 'firstMs' | 'lastMs'>>(
    (all, { firstMs, lastMs }) => joined(all, { firstMs, lastMs }),
    {},
  );
  return { rows: rows.length, rejected, added, ...span };
}

/** The station that a file names as its marker, whatever the case. */
function stationOf({ project }: ProjectFolder, { marker }: ObservationHead, file: string): string {
  const found = project.stations.find(({ id }) => id.toLowerCase() === marker.toLowerCase());
  if (found) return found.id;
  return fail(
    'INPUT_STATION',
    `the marker ${marker === '' ? 'has no name' : marker}${marker === '' ? '' : ' is not a station'}`,
    {
      at: { file },
      hint: 'an id of a station as MARKER NAME, or sites in the project file that say whose each file is',
      allowed: project.stations.map(({ id }) => id),
    },
  );
}

/** Axes at the station; the head must not say that the receiver stands elsewhere. */
function frameOf(
  { project, ellipsoid }: ProjectFolder,
  id: string,
  { position }: ObservationHead,
  file: string,
): TopocentricFrame {
  const near = approximatePosition(
    ellipsoid,
    project.stations.find((s) => s.id === id)!,
  );
  const away = position ? Math.hypot(position.x - near.x, position.y - near.y, position.z - near.z) : 0;
  if (away > elsewhere)
    fail('INPUT_POSITION', `the receiver stands ${Math.round(away / 100) / 10} km from ${id}`, {
      at: { file },
      hint: `the file of the right station, or the right APPROX POSITION XYZ`,
    });
  return TopocentricFrame.at(ellipsoid, near);
}
