import { join } from 'node:path';
import { readOutline } from '@stillmark/formats';
import { radians, toGeocentric, type TopocentricFrame } from '@stillmark/geodesy';
import { fail } from '@stillmark/problems';
import { selfCrossing, type PlanPoint } from '@stillmark/planning';
import type { OutlineRecord } from '@stillmark/records';
import type { Files } from './effects.ts';
import { checkInside, mapOrigin, projectFile, sha256, type ProjectFolder } from './project-folder.ts';
import { approximatePosition } from './project-settings.ts';

/** Metres: what is further than this from every station is of another place. */
export const farOutline = 20_000;

/**
 * The outline of the site in plan coordinates; nothing where the project has none.
 *
 * @throws OUTLINE_INVALID, INPUT_NONE where the file that the project names cannot be drawn
 */
export async function readOutlineOf(
  opened: ProjectFolder,
  files: Files,
): Promise<{ outline: OutlineRecord[]; sha256?: string }> {
  const { project, folder } = opened;
  const path = project.outline;
  if (path === undefined) return { outline: [] };
  if ((await files.kind(join(folder, path))) === 'nothing')
    return fail('INPUT_NONE', `there is no file ${path} (outline of the site)`, {
      at: { file: projectFile },
      hint: 'a GeoJSON file inside the project folder',
    });
  await checkInside(opened, path, files);
  const bytes = (await files.read(join(folder, path)))!;
  const origin = mapOrigin(opened);
  const outline = readOutline(bytes, path).map(({ kind, name, closed, hole, points }): OutlineRecord => ({
    kind,
    ...(name === undefined ? {} : { name }),
    closed,
    ...(hole ? { hole } : {}),
    points_m: points.flatMap((point) => planCoordinates(opened, origin, point)),
  }));
  checkPlace(opened, origin, outline, path);
  checkZones(outline, path);
  return { outline, sha256: sha256(bytes) };
}

/** East and north of the origin at its height, to the decimetre, of a point in degrees. */
export function planCoordinates(
  { ellipsoid }: ProjectFolder,
  origin: TopocentricFrame,
  [longitude, latitude]: readonly [number, number],
): [number, number] {
  const { east, north } = origin.fromGeocentric(
    toGeocentric(ellipsoid, {
      latitude: radians(latitude),
      longitude: radians(longitude),
      height: origin.geodetic.height,
    }),
  );
  return [Number(east.toFixed(1)), Number(north.toFixed(1))];
}

/** How far a point of the plan lies from the nearest station, metres. */
export function nearestStation(
  { project, ellipsoid }: ProjectFolder,
  origin: TopocentricFrame,
): (east: number, north: number) => number {
  const stations = project.stations.map((s) => origin.fromGeocentric(approximatePosition(ellipsoid, s)));
  return (east, north) => Math.min(...stations.map((s) => Math.hypot(s.east - east, s.north - north)));
}

function checkPlace(
  opened: ProjectFolder,
  origin: TopocentricFrame,
  outline: readonly OutlineRecord[],
  file: string,
): void {
  const distance = nearestStation(opened, origin);
  for (const { points_m: p } of outline) {
    for (let i = 0; i < p.length; i += 2) {
      const nearest = distance(p[i]!, p[i + 1]!);
      if (nearest <= farOutline) continue;
      fail('OUTLINE_INVALID', `a point lies ${Math.round(nearest / 1000)} km from the nearest station`, {
        at: { file },
        hint: 'GeoJSON has the longitude first, then the latitude, in degrees',
      });
    }
  }
}

/** Points of a closed line of the outline. */
export function ringOf(points_m: readonly number[]): PlanPoint[] {
  return Array.from({ length: points_m.length / 2 }, (_, i) => ({
    east: points_m[2 * i]!,
    north: points_m[2 * i + 1]!,
  }));
}

/** Of a zone whose sides cross nobody can say what lies in it. */
function checkZones(outline: readonly OutlineRecord[], file: string): void {
  for (const { kind, closed, name, points_m } of outline) {
    const crossing = kind === 'zone' && closed ? selfCrossing(ringOf(points_m)) : undefined;
    if (crossing)
      fail(
        'OUTLINE_INVALID',
        `the zone ${name ?? 'of influence'} crosses itself, at its points ${crossing[0] + 1} and ${crossing[1] + 1}`,
        { at: { file }, hint: 'a ring whose sides do not cross' },
      );
  }
}
