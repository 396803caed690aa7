/** The invented ground of the Larkmoor dam: its height, and what a survey would have drawn of it (a shaded relief, contours). */
import { contours } from 'd3-contour';
import { encode } from 'fast-png';
import proj4 from 'proj4';
import { seeded } from '../synthetic/noise.ts';
import { collection, type Feature } from '../synthetic/outline.ts';
import { centre, frame, layout } from './layout.ts';

/** Smooth noise about zero, metres, over a lattice of so many metres. */
function smoothNoise(seed: number, spacing: number, amplitude: number): (x: number, y: number) => number {
  const { uniform } = seeded(seed);
  const size = 64;
  const lattice = Float64Array.from({ length: size * size }, () => amplitude * (2 * uniform() - 1));
  const at = (i: number, j: number): number =>
    lattice[(((j % size) + size) % size) * size + (((i % size) + size) % size)]!;
  const ease = (t: number): number => t * t * t * (t * (6 * t - 15) + 10);
  return (x, y) => {
    const [i, j] = [Math.floor(x / spacing), Math.floor(y / spacing)];
    const [u, v] = [ease(x / spacing - i), ease(y / spacing - j)];
    const lower = at(i, j) + u * (at(i + 1, j) - at(i, j));
    const upper = at(i, j + 1) + u * (at(i + 1, j + 1) - at(i, j + 1));
    return lower + v * (upper - lower);
  };
}

const noises = [smoothNoise(31, 190, 9), smoothNoise(32, 80, 3.5), smoothNoise(33, 33, 1.2)];
const bends = smoothNoise(34, 210, 75);
const spurs = smoothNoise(35, 120, 0.16);

/** Metres above the crest, of the surface of the reservoir. */
const water = -13;

/** The ground without the dam: a valley that falls downstream between two hills, and ends upstream of the reservoir. */
function valley(along: number, across: number): number {
  // At the dam it is as wide as the dam is long; further on it winds.
  const far = 1 - Math.exp(-((across / 110) ** 2));
  const from = along - far * bends(0, across);
  const side = Math.abs(from) / (322 * (1 + far * spurs(along, across)));
  const floor = across > -110 ? -42 - 0.03 * across : -38.7 + 42 * (1 - Math.exp((across + 110) / 130));
  const rim = from < 0 ? 20 : 32;
  const flank = side < 1 ? side ** 4 : 1;
  const beyond = Math.max(0, side - 1) * 322;
  // Hills are rough, valley floors are not.
  const rough = Math.min(1, Math.max(0.12, flank));
  return (
    floor * (1 - flank) +
    rim * (1 - Math.exp((-0.447 * beyond) / rim)) +
    0.06 * beyond +
    rough * noises.reduce((sum, noise) => sum + noise(along, across), 0)
  );
}

/** About the bases the ground has the height of the layout, less that of their pillars. */
const knolls = (['B1', 'B2', 'B3'] as const).map((id) => {
  const [along, across, above] = layout[id]!;
  return { along, across, rise: above - 1.3 - valley(along, across) };
});

/** Metres above the crest: the ground, the dam in it, and the water before the dam. */
export function heightAbove(along: number, across: number): number {
  const ground = knolls.reduce(
    (sum, { along: a, across: d, rise }) =>
      sum + rise * Math.exp(-((along - a) ** 2 + (across - d) ** 2) / (2 * 60 ** 2)),
    valley(along, across),
  );
  const surface = Math.max(ground, damAbove(along, across));
  return across < 0 ? Math.max(surface, water) : surface;
}

/** The embankment: a crest fifteen metres wide, faces of 1 in 3 upstream and 1 in 2.2 downstream. */
function damAbove(along: number, across: number): number {
  if (Math.abs(along) > 330) return Number.NEGATIVE_INFINITY;
  if (across < -8) return (across + 8) / 3;
  return across <= 7 ? 0 : (7 - across) / 2.2;
}

/** The map of the project, to a metre: a datum shift between frames is half a pixel of an invented image. */
const toMap = proj4(
  '+proj=longlat +ellps=GRS80 +no_defs',
  '+proj=utm +zone=30 +ellps=GRS80 +no_defs',
).forward;
const mapOf = (along: number, across: number): [number, number] =>
  toMap<[number, number]>(frame.lonLatOf(along, across));

/** Along and across the dam of a place on the map: over a site the map is affine to millimetres. */
function siteOf(): (easting: number, northing: number) => [number, number] {
  const [origin, a, d] = [mapOf(0, 0), mapOf(1000, 0), mapOf(0, 1000)];
  const [ax, ay, dx, dy] = [a[0] - origin[0], a[1] - origin[1], d[0] - origin[0], d[1] - origin[1]];
  const determinant = ax * dy - ay * dx;
  return (easting, northing) => {
    const [e, n] = [easting - origin[0], northing - origin[1]];
    return [(1000 * (dy * e - dx * n)) / determinant, (1000 * (ax * n - ay * e)) / determinant];
  };
}

/** Pixels of the relief, in metres on the map. */
const pixel = 2.5;
const [columns, rows] = [640, 480];

/** Centre of the upper left pixel, on whole metres. */
function corner(): [number, number] {
  const [e, n] = mapOf(20, 100);
  return [Math.round(e - (pixel * columns) / 2), Math.round(n + (pixel * rows) / 2)];
}

/** A relief lit from the north-west, light enough to be drawn on, as PNG, with its world file. */
export function larkmoorRelief(): { png: Uint8Array; world: string } {
  const site = siteOf();
  const [left, top] = corner();
  const height = (column: number, row: number): number =>
    heightAbove(...site(left + pixel * column, top - pixel * row));
  // Lambert's cosine law: the light comes from azimuth 315 degrees, 45 degrees high.
  const light = [-0.5, 0.5, Math.SQRT1_2] as const;
  const exaggeration = 1.4;
  const data = new Uint8Array(columns * rows);
  for (let row = 0; row < rows; row++)
    for (let column = 0; column < columns; column++) {
      const east = (exaggeration * (height(column + 1, row) - height(column - 1, row))) / (2 * pixel);
      const north = (exaggeration * (height(column, row - 1) - height(column, row + 1))) / (2 * pixel);
      const shade = (light[2] - light[0] * east - light[1] * north) / Math.hypot(east, north, 1);
      // In steps of four: what the eye does not see need not be stored.
      data[row * columns + column] = 4 * Math.round((85 + 165 * Math.max(0, shade)) / 4);
    }
  const png = encode({ width: columns, height: rows, data, channels: 1, depth: 8 }, { zlib: { level: 9 } });
  return { png, world: `${[pixel, 0, 0, -pixel, left, top].map((value) => value.toFixed(4)).join('\n')}\n` };
}

/** Contours of twenty metres, as lines with their height above the ellipsoid. */
export function larkmoorContours(): string {
  const [step, along, across] = [20, 800, 620] as const;
  const [width, depth] = [(2 * along) / step + 1, (2 * across) / step + 1];
  const values = Array.from({ length: width * depth }, (_, i) =>
    heightAbove(-along + step * (i % width), -across + 100 + step * Math.floor(i / width)),
  );
  const trace = contours().size([width, depth]).smooth(true);
  const features = Array.from({ length: 7 }, (_, i) => 260 + 20 * i).flatMap((elevation): Feature[] =>
    trace.contour(values, elevation - centre.height).coordinates.flatMap((rings) =>
      rings.flatMap((ring) =>
        insideRuns(ring as [number, number][], width, depth).map((run): Feature => ({
          type: 'Feature',
          properties: { elevation },
          geometry: {
            type: 'LineString',
            // A value of the grid stands in the middle of its cell.
            coordinates: run.map(([x, y]) =>
              frame.lonLatOf(-along + step * (x - 0.5), -across + 100 + step * (y - 0.5)),
            ),
          },
        })),
      ),
    ),
  );
  return collection(features);
}

/** Rings are closed along the edge of the grid, where no contour is. */
function insideRuns(ring: readonly [number, number][], width: number, depth: number): [number, number][][] {
  const runs: [number, number][][] = [[]];
  for (const point of ring) {
    const [x, y] = point;
    if (x > 0.6 && y > 0.6 && x < width - 0.6 && y < depth - 0.6) runs.at(-1)!.push(point);
    else runs.push([]);
  }
  // A knoll of a few cells is no contour.
  return runs.filter((run) => run.length > 8);
}
