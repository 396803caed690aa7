import type { Geocentric } from '../geocentric.ts';
import type { Orbit } from './kepler.ts';

/** Position, velocity and the acceleration by sun and moon at one time, Earth-fixed (PZ-90.11), as GLONASS satellites broadcast them. */
export interface GlonassState {
  /** Calendar reading in GPS time, milliseconds since 1970. */
  readonly timeMs: number;
  /** Metres. */
  readonly position: readonly [number, number, number];
  /** Metres a second. */
  readonly velocity: readonly [number, number, number];
  /** Metres a second squared. */
  readonly acceleration: readonly [number, number, number];
}

/** PZ-90.11 as the GLONASS interface document gives it (edition 5.1, from memory). */
const mu = 3.986004418e14;
const radius = 6_378_136;
const c20 = -1.08262575e-3;
const rotation = 7.292115e-5;

/** Seconds: the document integrates with steps of this length, or shorter. */
const step = 60;

type State = [number, number, number, number, number, number];

/** The orbit about a broadcast state by Runge and Kutta's method of the fourth order (GLONASS ICD 5.1, appendix A.3.1.2). */
export function glonassOrbit(known: GlonassState): Orbit {
  return (gpsMs): Geocentric => {
    let state: State = [...known.position, ...known.velocity];
    let left = (gpsMs - known.timeMs) / 1000;
    while (Math.abs(left) > 1e-9) {
      const h = Math.sign(left) * Math.min(step, Math.abs(left));
      state = advance(state, h, known.acceleration);
      left -= h;
    }
    return { x: state[0], y: state[1], z: state[2] };
  };
}

function advance(state: State, h: number, outer: GlonassState['acceleration']): State {
  const at = (slope: State, by: number): State => state.map((v, i) => v + by * slope[i]!) as State;
  const k1 = slopeOf(state, outer);
  const k2 = slopeOf(at(k1, h / 2), outer);
  const k3 = slopeOf(at(k2, h / 2), outer);
  const k4 = slopeOf(at(k3, h), outer);
  return state.map((v, i) => v + (h / 6) * (k1[i]! + 2 * k2[i]! + 2 * k3[i]! + k4[i]!)) as State;
}

/** Attraction of the flattened Earth, the rotation of the axes, sun and moon. */
function slopeOf([x, y, z, vx, vy, vz]: State, [ax, ay, az]: GlonassState['acceleration']): State {
  const r2 = x * x + y * y + z * z;
  const r = Math.sqrt(r2);
  const central = -mu / (r2 * r);
  const flattened = (1.5 * c20 * mu * radius * radius) / (r2 * r2 * r);
  const polar = (5 * z * z) / r2;
  const across = central + flattened * (1 - polar);
  const along = central + flattened * (3 - polar);
  const w2 = rotation * rotation;
  return [
    vx,
    vy,
    vz,
    (across + w2) * x + 2 * rotation * vy + ax,
    (across + w2) * y - 2 * rotation * vx + ay,
    along * z + az,
  ];
}
