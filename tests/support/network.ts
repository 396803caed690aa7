import { axesAt, geocentric } from '@stillmark/data/synthetic/place.ts';

/** The network that benchmarks and tests of the main job measure: stations a few hundred metres apart, seen from one held base. */

interface Geodetic {
  readonly latitude: number;
  readonly longitude: number;
  readonly height: number;
}

export const idsOf = (stations: number): string[] =>
  Array.from({ length: stations }, (_, i) => `T${String(i + 1).padStart(2, '0')}`);

export const placeOf = (i: number): Geodetic => ({
  latitude: 46.4 + 0.0005 * (i % 10),
  longitude: 9.8 + 0.0007 * Math.floor(i / 10),
  height: 800 + i,
});

/** The header of a file of positions, for {@link rowOf}. */
export const header = 'time,station,x,y,z,cxx,cxy,cxz,cyy,cyz,czz\n';
const covariance = '2.1e-6,3.1e-7,8.2e-7,1.1e-6,1.9e-7,2.4e-6';
const axes = axesAt(placeOf(0));

/** A line of such a file: a station of the network, moved from its place by east, north and up in metres. */
export function rowOf(
  ids: readonly string[],
  i: number,
  timeMs: number,
  [e, n, u]: readonly [number, number, number],
): string {
  const start = geocentric(placeOf(i));
  const xyz = [0, 1, 2].map((k) =>
    (start[k]! + axes.east[k]! * e + axes.north[k]! * n + axes.up[k]! * u).toFixed(4),
  );
  return `${new Date(timeMs).toISOString().slice(0, 19)}Z,${ids[i]!},${xyz.join(',')},${covariance}\n`;
}

export function projectYaml(
  ids: readonly string[],
  { epoch, processingInterval }: { readonly epoch: string; readonly processingInterval: string },
): string {
  const station = (id: string, role: string, i: number): string => {
    const { latitude, longitude, height } = placeOf(i);
    return `  - { id: ${id}, role: ${role}, on: ground, position: { latitude: ${latitude.toFixed(4)}, longitude: ${longitude.toFixed(4)}, height: ${height} } }`;
  };
  return `stillmark: 1
title: benchmark
frame: { name: ITRF2020, ellipsoid: GRS 1980, epoch: '${epoch}' }
processingInterval: ${processingInterval}
requirement: { horizontal: 10 mm, up: 15 mm }
stations:
${[station('B1', 'base', ids.length + 5), ...ids.map((id, i) => station(id, 'monitoring', i))].join('\n')}
streams:
  - name: main
    kind: relative
    base: B1
    solution: epoch-wise
    files: [positions/*.csv]
    columns: { station: station, time: time, x: x, y: y, z: z, xx: cxx, xy: cxy, xz: cxz, yy: cyy, yz: cyz, zz: czz }
`;
}
