/** The network that benchmarks of the main job measure: stations a few hundred metres apart, seen from one held base. */

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
