import type { Geocentric } from '../geocentric.ts';

/** Where a satellite stands at an instant of GPS time (its calendar reading in milliseconds since 1970). */
export type Orbit = (gpsMs: number) => Geocentric;

/** Constants that the interface documents of a constellation fix for its users. */
export interface OrbitConstants {
  /** Gravitational constant times the mass of the Earth, m^3/s^2. */
  readonly mu: number;
  /** Rotation of the Earth, rad/s. */
  readonly rotation: number;
}

/**
 * GPS and QZSS: IS-GPS-200, table 20-IV. Galileo: OS SIS ICD, table 63. BeiDou: BDS-SIS-ICD, table 5-11 (those of Galileo and BeiDou from
 * memory, and borne out by positions that the IGS published).
 */
export const orbitConstants = {
  GPS: { mu: 3.986005e14, rotation: 7.2921151467e-5 },
  Galileo: { mu: 3.986004418e14, rotation: 7.2921151467e-5 },
  BeiDou: { mu: 3.986004418e14, rotation: 7.292115e-5 },
} as const satisfies Record<string, OrbitConstants>;

/** Elements as satellites broadcast them: of an ephemeris all of them, of an almanac without what is optional. Radians, metres, seconds. */
export interface KeplerElements {
  readonly constants: OrbitConstants;
  /** Time of ephemeris (or almanac): calendar reading in GPS time, milliseconds since 1970. */
  readonly toeMs: number;
  /** The same in seconds of the constellation's own week. */
  readonly toe: number;
  readonly sqrtA: number;
  readonly eccentricity: number;
  readonly inclination: number;
  readonly node: number;
  readonly perigee: number;
  readonly meanAnomaly: number;
  readonly nodeRate: number;
  readonly meanMotionDifference?: number;
  readonly inclinationRate?: number;
  readonly corrections?: {
    readonly cuc: number;
    readonly cus: number;
    readonly crc: number;
    readonly crs: number;
    readonly cic: number;
    readonly cis: number;
  };
  /** True of a BeiDou satellite in geostationary orbit, whose elements stand in a plane that is tilted by five degrees. */
  readonly geostationary?: boolean;
}

/** Tilt of the plane of elements of geostationary BeiDou satellites (BDS-SIS-ICD, section 5.2.4.12). */
const tilt = (-5 * Math.PI) / 180;

/**
 * The orbit of broadcast elements, Earth-fixed (IS-GPS-200, table 20-IV; of an almanac 20.3.3.5.2.1 with the inclination as the YUMA form
 * gives it). Kepler's equation by Newton's method to the last bit.
 */
export function keplerOrbit(elements: KeplerElements): Orbit {
  const { constants, sqrtA, eccentricity: e, corrections: c } = elements;
  const a = sqrtA * sqrtA;
  const motion = Math.sqrt(constants.mu / (a * a * a)) + (elements.meanMotionDifference ?? 0);
  const minor = Math.sqrt(1 - e * e);
  return (gpsMs) => {
    const t = (gpsMs - elements.toeMs) / 1000;
    const eccentric = eccentricAnomaly(elements.meanAnomaly + motion * t, e);
    const phi = Math.atan2(minor * Math.sin(eccentric), Math.cos(eccentric) - e) + elements.perigee;
    const [s2, c2] = [Math.sin(2 * phi), Math.cos(2 * phi)];
    const u = phi + (c ? c.cus * s2 + c.cuc * c2 : 0);
    const r = a * (1 - e * Math.cos(eccentric)) + (c ? c.crs * s2 + c.crc * c2 : 0);
    const i = elements.inclination + (elements.inclinationRate ?? 0) * t + (c ? c.cis * s2 + c.cic * c2 : 0);
    const turned = elements.geostationary ? 0 : constants.rotation * t;
    const node = elements.node + elements.nodeRate * t - turned - constants.rotation * elements.toe;
    const [x, y] = [r * Math.cos(u), r * Math.sin(u)];
    const point = {
      x: x * Math.cos(node) - y * Math.cos(i) * Math.sin(node),
      y: x * Math.sin(node) + y * Math.cos(i) * Math.cos(node),
      z: y * Math.sin(i),
    };
    return elements.geostationary ? fromTiltedPlane(point, constants.rotation * t) : point;
  };
}

/** Solves Kepler's equation E - e sin E = M; e below 1. */
function eccentricAnomaly(mean: number, e: number): number {
  let eccentric = mean;
  for (let k = 0; k < 30; k++) {
    const step = (eccentric - e * Math.sin(eccentric) - mean) / (1 - e * Math.cos(eccentric));
    eccentric -= step;
    if (Math.abs(step) < 1e-15) break;
  }
  return eccentric;
}

/** Rz(angle) Rx(-5 deg): from the plane of elements to Earth-fixed axes. */
function fromTiltedPlane({ x, y, z }: Geocentric, angle: number): Geocentric {
  const [ct, st] = [Math.cos(tilt), Math.sin(tilt)];
  const [ca, sa] = [Math.cos(angle), Math.sin(angle)];
  const [y1, z1] = [ct * y + st * z, ct * z - st * y];
  return { x: ca * x + sa * y1, y: ca * y1 - sa * x, z: z1 };
}
