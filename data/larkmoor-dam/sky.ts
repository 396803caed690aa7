import { centre } from './layout.ts';
import { axesAt, geocentric, type Vector } from '../synthetic/place.ts';

/** An invented constellation: satellites on circular orbits, evenly spread over its planes. */
interface Constellation {
  readonly letter: string;
  readonly planes: number;
  readonly each: number;
  readonly sqrtA: number;
  readonly inclination: number;
}

export const constellations: readonly Constellation[] = [
  { letter: 'G', planes: 6, each: 5, sqrtA: 5153.65, inclination: 0.9599 },
  { letter: 'R', planes: 3, each: 8, sqrtA: 5050.57, inclination: 1.131 },
  { letter: 'E', planes: 3, each: 8, sqrtA: 5440.588, inclination: 0.9774 },
];

const mu = 3.986004418e14;
export const rotation = 7.2921151467e-5;
/** Begin of the GPS week of the last days: orbits are told for it. */
export const weekStart = Date.UTC(2026, 10, 22);

export interface Satellite {
  readonly name: string;
  readonly constellation: Constellation;
  /** Longitude of the ascending node at the begin of the week, and argument of latitude then, radians. */
  readonly node: number;
  readonly latitude: number;
}

export const satellites: readonly Satellite[] = constellations.flatMap((constellation) =>
  Array.from({ length: constellation.planes * constellation.each }, (_, i): Satellite => {
    const plane = Math.floor(i / constellation.each);
    return {
      name: `${constellation.letter}${String(i + 1).padStart(2, '0')}`,
      constellation,
      node: (2 * Math.PI * plane) / constellation.planes,
      latitude:
        2 *
        Math.PI *
        ((i % constellation.each) / constellation.each + plane / (constellation.planes * constellation.each)),
    };
  }),
);

/** Earth-fixed position, metres. `gpsMs` is a calendar reading in GPS time. */
export function satelliteAt({ constellation, node, latitude }: Satellite, gpsMs: number): Vector {
  const { sqrtA, inclination } = constellation;
  const a = sqrtA ** 2;
  const t = (gpsMs - weekStart) / 1000;
  const u = latitude + Math.sqrt(mu / a ** 3) * t;
  const turned = node - rotation * t;
  const [x, y] = [a * Math.cos(u), a * Math.sin(u)];
  return [
    x * Math.cos(turned) - y * Math.cos(inclination) * Math.sin(turned),
    x * Math.sin(turned) + y * Math.cos(inclination) * Math.cos(turned),
    y * Math.sin(inclination),
  ];
}

const here = geocentric(centre);
const axes = axesAt(centre);

/** Elevation and azimuth at the dam, degrees. */
export function seenAt(position: Vector): { elevation: number; azimuth: number } {
  const d = position.map((v, k) => v - here[k]!);
  const along = (axis: Vector): number => axis.reduce((s, v, k) => s + v * d[k]!, 0);
  const [e, n, u] = [along(axes.east), along(axes.north), along(axes.up)];
  const degrees = 180 / Math.PI;
  return {
    elevation: Math.atan2(u, Math.hypot(e, n)) * degrees,
    azimuth: (Math.atan2(e, n) * degrees + 360) % 360,
  };
}
