import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';
import {
  alongGeodesic,
  degrees,
  ellipsoids,
  FrameRegistry,
  geodesicBetween,
  mapProjection,
  radians,
  toGeocentricAll,
  toGeodeticAll,
  transformPoints,
} from '@stillmark/geodesy';
import { describe, expect, test } from 'vitest';

// PROJ and GeographicLib on ten thousand random points each: data/reference-values/README.md.
const folder = fileURLToPath(import.meta.resolve('@stillmark/data/reference-values'));

function rows(name: string): Record<string, string>[] {
  const [header, ...lines] = gunzipSync(readFileSync(`${folder}/${name}.csv.gz`))
    .toString()
    .trim()
    .split('\n');
  const names = header!.split(',');
  return lines.map((line) => Object.fromEntries(line.split(',').map((value, i) => [names[i]!, value])));
}
const triples = (given: readonly Record<string, string>[], names: readonly string[]): Float64Array =>
  Float64Array.from(given.flatMap((row) => names.map((name) => Number(row[name]))));

/** The largest difference, and where it stands, so that a failure names its point. */
function worst(differences: readonly number[]): { at: number; off: number } {
  let at = 0;
  differences.forEach((d, i) => {
    if (!(d <= differences[at]!)) at = i;
  });
  return { at, off: differences[at]! };
}
const grs80 = ellipsoids['GRS 1980'];

describe('geocentric and geodetic coordinates, PROJ', () => {
  const given = rows('geocentric');
  const theirs = triples(given, ['x', 'y', 'z']);
  const geodetic = triples(given, ['latitudeDeg', 'longitudeDeg', 'height']).map((v, i) =>
    i % 3 === 2 ? v : radians(v),
  );
  const apart = (a: Float64Array, b: Float64Array): number[] =>
    given.map((_, i) => Math.hypot(...[0, 1, 2].map((k) => a[3 * i + k]! - b[3 * i + k]!)));
  // On the ground 5 nm; at the satellites four units in the last place of 26 000 km, 15 nm, which the rounding of angles alone makes.
  const allowed = given.map((_, i) => (Number(given[i]!['height']) < 10_000 ? 5e-9 : 1.5e-8));

  test('ten thousand points, to 5 nm on the ground', () => {
    expect(given.length).toBe(10_000);
    const ours = new Float64Array(theirs.length);
    toGeocentricAll(grs80, geodetic, ours);
    expect(worst(apart(ours, theirs).map((d, i) => d / allowed[i]!)).off).toBeLessThan(1);
  });

  test('and back', () => {
    const ours = new Float64Array(theirs.length);
    toGeodeticAll(grs80, theirs, ours);
    const off = given.map((_, i) => {
      const [lat, lon, h] = [0, 1, 2].map((k) => ours[3 * i + k]! - geodetic[3 * i + k]!) as [
        number,
        number,
        number,
      ];
      const radius = grs80.a + geodetic[3 * i + 2]!;
      const turned = Math.abs(lon) > Math.PI ? 2 * Math.PI - Math.abs(lon) : lon;
      return Math.hypot(radius * lat, radius * Math.cos(geodetic[3 * i]!) * turned, h) / (2 * allowed[i]!);
    });
    expect(worst(off).off).toBeLessThan(1);
  });
});

test('transformations between twenty pairs of frames, PROJ with the EPSG Dataset', () => {
  const given = rows('frames');
  const ours = triples(given, ['x', 'y', 'z']);
  const registry = new FrameRegistry();
  const pairs = new Map<string, number[]>();
  given.forEach(({ from, to }, i) => {
    const key = `${from} > ${to}`;
    pairs.set(key, [...(pairs.get(key) ?? []), i]);
  });
  expect(pairs.size).toBe(20);
  const epochs = Float64Array.from(given, (row) => Number(row['epoch']));
  for (const [key, places] of pairs) {
    const [from, to] = key.split(' > ') as [string, string];
    const first = places[0]!;
    const last = places.at(-1)! + 1;
    transformPoints((epoch) => registry.path(from, to).at(epoch), epochs.slice(first, last), {
      xyz: ours.subarray(3 * first, 3 * last),
    });
  }
  const theirs = triples(given, ['toX', 'toY', 'toZ']);
  const byPair = [...pairs].map(([key, places]) => {
    const off = Math.max(
      ...places.flatMap((i) => [0, 1, 2].map((k) => Math.abs(ours[3 * i + k]! - theirs[3 * i + k]!))),
    );
    return { key, off };
  });
  // Printed to a tenth of a micrometre.
  expect(byPair.filter(({ off }) => !(off < 1.1e-7))).toEqual([]);
});

describe('maps', () => {
  const given = rows('projections');

  test('ten maps of eight methods, PROJ: easting and northing, and back', () => {
    const off: number[] = [];
    for (const row of given) {
      const map = mapProjection(row['map']!);
      const at = {
        latitude: radians(Number(row['latitudeDeg'])),
        longitude: radians(Number(row['longitudeDeg'])),
      };
      const grid = map.fromGeodetic(at);
      const back = map.toGeodetic(grid);
      off.push(
        Math.max(
          Math.hypot(grid.easting - Number(row['easting']), grid.northing - Number(row['northing'])),
          6.4e6 * Math.abs(back.latitude - at.latitude),
        ),
      );
    }
    expect(worst(off).off).toBeLessThan(1e-6);
  });

  test('convergence and scale, GeographicLib', () => {
    const known = given.filter((row) => row['scale'] !== '');
    expect(known.length).toBeGreaterThanOrEqual(4000);
    const off: number[] = [];
    for (const row of known) {
      const map = mapProjection(row['map']!);
      const { convergence, meridianScale, parallelScale } = map.distortion({
        latitude: radians(Number(row['latitudeDeg'])),
        longitude: radians(Number(row['longitudeDeg'])),
      });
      const scale = Number(row['scale']);
      off.push(
        Math.max(
          Math.abs(convergence - radians(Number(row['convergenceDeg']))),
          Math.abs(meridianScale - scale),
          Math.abs(parallelScale - scale),
        ),
      );
    }
    expect(worst(off).off).toBeLessThan(1e-9);
  });
});

test('geodesics, GeodSolve: distance to a nanometre on short lines, azimuths, and the end point again', () => {
  const off = rows('geodesics').map((row) => {
    const number = (name: string): number => Number(row[name]);
    const from = { latitude: radians(number('latitudeDeg')), longitude: radians(number('longitudeDeg')) };
    const to = { latitude: radians(number('toLatitudeDeg')), longitude: radians(number('toLongitudeDeg')) };
    const line = geodesicBetween(grs80, from, to);
    const end = alongGeodesic(grs80, from, line.azimuth, line.distance);
    const turn = (deg: number): number => Math.abs(((deg + 540) % 360) - 180);
    return Math.max(
      Math.abs(line.distance - number('distance')) / 2e-8,
      // A direction counts for as far as it leads.
      (radians(turn(degrees(line.azimuth) - number('azimuthDeg'))) * Math.min(line.distance, 6e6)) / 1e-6,
      (6.4e6 * Math.abs(end.latitude - to.latitude)) / 2e-8,
    );
  });
  expect(worst(off).off).toBeLessThan(1);
});
