/**
 * Makes `data/reference-values`: `node tests/reference/make-values.ts`, with Debian's proj-bin and geographiclib-tools.
 *
 * Ten thousand random points for each of: geodetic to geocentric (cct), transformations between registered frames (cs2cs, which
 * finds the operation in its own copy of the EPSG Dataset), map projections (cct) with convergence and scale where GeographicLib
 * has the projection, and geodesics (GeodSolve). The seed is fixed, so the same tools write the same files.
 */
import { execFileSync } from 'node:child_process';
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';
import { source } from '@stillmark/data/synthetic/noise.ts';

const folder = fileURLToPath(new URL('../../data/reference-values', import.meta.url));
const n = 10_000;
const random = source(20_261_125);
const between = (low: number, high: number): number => low + (high - low) * random.uniform();

const run = (tool: string, args: readonly string[], lines: readonly string[]): string[][] => {
  const output = execFileSync(tool, args, {
    input: `${lines.join('\n')}\n`,
    encoding: 'utf8',
    maxBuffer: 1e9,
  });
  const rows = output
    .trim()
    .split('\n')
    .map((line) => line.trim().split(/\s+/));
  if (rows.length !== lines.length)
    throw new Error(`${tool}: ${rows.length} answers to ${lines.length} points`);
  return rows;
};
const write = (name: string, header: string, rows: readonly (readonly string[])[]): void => {
  const text = `${header}\n${rows.map((row) => row.join(',')).join('\n')}\n`;
  writeFileSync(`${folder}/${name}.csv.gz`, gzipSync(text, { level: 9 }));
  console.log(`${name}: ${rows.length} rows`);
};

/** Uniform on the sphere, so that poles are not crowded; a hundredth on the axis, the equator and the date line. */
function place(i: number): { lat: string; lon: string } {
  if (i % 400 === 0) return { lat: i % 800 === 0 ? '90' : '-90', lon: '0' };
  if (i % 400 === 1) return { lat: '0', lon: between(-180, 180).toFixed(9) };
  if (i % 400 === 2) return { lat: between(-90, 90).toFixed(9), lon: '180' };
  const lat = (Math.asin(between(-1, 1)) * 180) / Math.PI;
  return { lat: lat.toFixed(9), lon: between(-180, 180).toFixed(9) };
}

const points = Array.from({ length: n }, (_, i) => ({
  ...place(i),
  // Half of them where structures stand, the others up to the satellites.
  h: (i % 2 === 0 ? between(-10_000, 9_000) : between(-10_000, 20_000_000)).toFixed(4),
}));
const cart = run(
  'cct',
  ['-d', '9', '+proj=cart', '+ellps=GRS80'],
  points.map(({ lat, lon, h }) => `${lon} ${lat} ${h} 0`),
);
write(
  'geocentric',
  'latitudeDeg,longitudeDeg,height,x,y,z',
  points.map(({ lat, lon, h }, i) => [lat, lon, h, ...cart[i]!.slice(0, 3)]),
);

/** Names of ours, codes of the EPSG Dataset, and where the operation holds: south, west, north, east. */
const world = [-90, -180, 90, 180] as const;
const europe = [36, -9, 70, 30] as const;
const pairs: readonly [string, number, string, number, readonly [number, number, number, number]][] = [
  ['ITRF2020', 9988, 'ITRF2014', 7789, world],
  ['ITRF2020', 9988, 'ITRF2008', 5332, world],
  ['ITRF2020', 9988, 'ITRF2005', 4896, world],
  ['ITRF2020', 9988, 'ITRF2000', 4919, world],
  ['ITRF2020', 9988, 'ITRF97', 4918, world],
  ['ITRF2020', 9988, 'ITRF93', 4915, world],
  ['ITRF2020', 9988, 'ITRF88', 4910, world],
  ['ITRF2014', 7789, 'ITRF2008', 5332, world],
  ['ITRF2014', 7789, 'ITRF97', 4918, world],
  ['ITRF2014', 7789, 'ITRF92', 4914, world],
  ['ITRF2008', 5332, 'ITRF2005', 4896, world],
  ['ITRF2008', 5332, 'ITRF93', 4915, world],
  ['ITRF2000', 4919, 'ITRF94', 4916, world],
  ['ITRF2014', 7789, 'ETRF2014', 8401, europe],
  ['ITRF2014', 7789, 'ETRF2000', 7930, europe],
  ['ITRF2008', 5332, 'ETRF2000', 7930, europe],
  ['ITRF2000', 4919, 'ETRF2000', 7930, europe],
  ['ITRF2014', 7789, 'GDA2020', 7842, [-44, 112, -10, 154]],
  ['ITRF2014', 7789, 'GDA94', 4938, [-44, 112, -10, 154]],
  ['ITRF2008', 5332, 'NAD83(2011)', 6317, [25, -125, 49, -67]],
];
const frames = pairs.flatMap(([from, fromCode, to, toCode, [south, west, north, east]]) => {
  const rows = Array.from({ length: n / pairs.length }, () => {
    const [lat, lon] = [between(south, north), between(west, east)].map((v) => (v * Math.PI) / 180) as [
      number,
      number,
    ];
    const r = 6_371_000 + between(0, 9_000);
    return [r * Math.cos(lat) * Math.cos(lon), r * Math.cos(lat) * Math.sin(lon), r * Math.sin(lat)]
      .map((v) => v.toFixed(4))
      .concat(between(1990, 2030).toFixed(4));
  });
  const out = run(
    'cs2cs',
    ['-f', '%.7f', `EPSG:${fromCode}`, `EPSG:${toCode}`],
    rows.map((row) => row.join(' ')),
  );
  return rows.map((row, i) => [from, to, row[3]!, ...row.slice(0, 3), ...out[i]!.slice(0, 3)]);
});
write('frames', 'from,to,epoch,x,y,z,toX,toY,toZ', frames);

/** Registered maps of different methods, with their area: south, west, north, east. */
const maps: readonly [number, string, readonly [number, number, number, number]][] = [
  [25832, '+proj=utm +zone=32 +ellps=GRS80', [38, 6, 84, 12]],
  [32733, '+proj=utm +zone=33 +south +ellps=WGS84', [-80, 12, 0, 18]],
  [
    27700,
    '+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000 +ellps=airy',
    [49.8, -7, 60.8, 1.8],
  ],
  [
    2193,
    '+proj=tmerc +lat_0=0 +lon_0=173 +k=0.9996 +x_0=1600000 +y_0=10000000 +ellps=GRS80',
    [-47.4, 166.3, -34.1, 178.6],
  ],
  [
    2154,
    '+proj=lcc +lat_0=46.5 +lon_0=3 +lat_1=49 +lat_2=44 +x_0=700000 +y_0=6600000 +ellps=GRS80',
    [41.2, -9.8, 51.5, 10.4],
  ],
  [
    2056,
    '+proj=somerc +lat_0=46.9524055555556 +lon_0=7.43958333333333 +k_0=1 +x_0=2600000 +y_0=1200000 +ellps=bessel',
    [45.8, 5.9, 47.9, 10.5],
  ],
  [
    28992,
    '+proj=sterea +lat_0=52.1561605555556 +lon_0=5.38763888888889 +k=0.9999079 +x_0=155000 +y_0=463000 +ellps=bessel',
    [50.8, 3.2, 53.7, 7.3],
  ],
  [3035, '+proj=laea +lat_0=52 +lon_0=10 +x_0=4321000 +y_0=3210000 +ellps=GRS80', [34, -10, 70, 40]],
  [
    5070,
    '+proj=aea +lat_0=23 +lon_0=-96 +lat_1=29.5 +lat_2=45.5 +x_0=0 +y_0=0 +ellps=GRS80',
    [24.4, -124, 49, -67],
  ],
  [3395, '+proj=merc +lon_0=0 +k=1 +x_0=0 +y_0=0 +ellps=WGS84', [-80, -179, 84, 179]],
];
const projected = maps.flatMap(([code, definition, [south, west, north, east]]) => {
  const places = Array.from({ length: n / maps.length }, () => ({
    lat: between(south, north).toFixed(9),
    lon: between(west, east).toFixed(9),
  }));
  const grid = run(
    'cct',
    [
      '-d',
      '9',
      '+proj=pipeline',
      '+step',
      '+proj=unitconvert',
      '+xy_in=deg',
      '+xy_out=rad',
      '+step',
      ...definition.split(' '),
    ],
    places.map(({ lat, lon }) => `${lon} ${lat} 0 0`),
  );
  const distortion = distortionOf(definition, places);
  return places.map(({ lat, lon }, i) => [
    `EPSG:${code}`,
    lat,
    lon,
    ...grid[i]!.slice(0, 2),
    ...(distortion ? distortion[i]! : ['', '']),
  ]);
});
write('projections', 'map,latitudeDeg,longitudeDeg,easting,northing,convergenceDeg,scale', projected);

/** Convergence (degrees) and point scale by GeographicLib, for the two methods that it has. */
function distortionOf(
  definition: string,
  places: readonly { lat: string; lon: string }[],
): string[][] | undefined {
  const value = (name: string): string | undefined => new RegExp(`\\+${name}=(\\S+)`).exec(definition)?.[1];
  const shapes: Record<string, string[]> = {
    GRS80: ['6378137', '1/298.257222101'],
    WGS84: ['6378137', '1/298.257223563'],
    airy: ['6377563.396', '0.003340850641'],
  };
  const ellipsoid = ['-p', '10', '-e', ...(shapes[value('ellps')!] ?? [])];
  const input = places.map(({ lat, lon }) => `${lat} ${lon}`);
  const method = value('proj');
  if (method === 'utm' || method === 'tmerc') {
    if (value('ellps') === 'airy') return undefined;
    const meridian = method === 'utm' ? String(6 * Number(value('zone')) - 183) : value('lon_0')!;
    const args = ['-l', meridian, '-k', value('k') ?? '0.9996', ...ellipsoid];
    return run('TransverseMercatorProj', args, input).map((row) => row.slice(2, 4));
  }
  if (method === 'lcc') {
    const args = ['-c', value('lat_1')!, value('lat_2')!, '-l', value('lon_0')!, ...ellipsoid];
    return run('ConicProj', args, input).map((row) => row.slice(2, 4));
  }
  return undefined;
}

const lines = Array.from({ length: n }, (_, i) => {
  // Lines of a network (up to 50 km) and of the whole earth in turn.
  const a = place(i + 3);
  const b = place(i + 7);
  if (i % 2 === 0) return [a.lat, a.lon, b.lat, b.lon];
  const lat = Math.max(-89, Math.min(89, Number(a.lat)));
  return [
    lat.toFixed(9),
    a.lon,
    (lat + between(-0.3, 0.3)).toFixed(9),
    (Number(a.lon) + between(-0.4, 0.4)).toFixed(9),
  ];
});
const solved = run(
  'GeodSolve',
  ['-i', '-p', '9', '-e', '6378137', '1/298.257222101'],
  lines.map((l) => l.join(' ')),
);
write(
  'geodesics',
  'latitudeDeg,longitudeDeg,toLatitudeDeg,toLongitudeDeg,azimuthDeg,forwardAzimuthDeg,distance',
  lines.map((line, i) => [...line, ...solved[i]!]),
);
