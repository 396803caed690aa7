import type { Geocentric } from '../geocentric.ts';
import type { Orbit } from './kepler.ts';

/** What is known of the orbit of a satellite over a time, calendar readings of GPS time in milliseconds. */
export interface KnownOrbit {
  readonly satellite: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly referenceMs: number;
  readonly healthy: boolean;
  readonly orbit: Orbit;
  readonly channel?: number;
}

/** Positions are computed so far apart; between them they are taken on a straight line, which is 6 km (0.02 degrees) off at most. */
const stepMs = 300_000;

/**
 * Where the healthy satellites stand, from all orbits that are known; made once for all receivers of a network, which see the same sky.
 */
export class SkyPositions {
  readonly #orbits = new Map<string, KnownOrbit[]>();
  readonly #known = new Map<string, Geocentric | undefined>();
  readonly satellites: readonly string[];

  constructor(orbits: readonly KnownOrbit[]) {
    for (const orbit of orbits) {
      const own = this.#orbits.get(orbit.satellite);
      if (own) own.push(orbit);
      else this.#orbits.set(orbit.satellite, [orbit]);
    }
    for (const own of this.#orbits.values()) own.sort((a, b) => a.referenceMs - b.referenceMs);
    this.satellites = [...this.#orbits.keys()].sort();
  }

  /** Earth-fixed, metres; undefined where its orbit is not known for the time, or it is not healthy. */
  at(satellite: string, gpsMs: number): Geocentric | undefined {
    const slot = Math.floor(gpsMs / stepMs);
    const [a, b] = [this.#node(satellite, slot), this.#node(satellite, slot + 1)];
    if (!a || !b) return undefined;
    const part = gpsMs / stepMs - slot;
    return { x: a.x + part * (b.x - a.x), y: a.y + part * (b.y - a.y), z: a.z + part * (b.z - a.z) };
  }

  /** True where the orbit of a satellite is known for a time, healthy or not. */
  knows(satellite: string, gpsMs: number): boolean {
    return this.#nearest(satellite, gpsMs) !== undefined;
  }

  /** Number of the frequency of a GLONASS satellite, where an orbit tells it. */
  channel(satellite: string): number | undefined {
    return this.#orbits.get(satellite)?.find(({ channel }) => channel !== undefined)?.channel;
  }

  /** The orbit whose reference time is nearest, where it is good for the time. */
  #nearest(satellite: string, gpsMs: number): KnownOrbit | undefined {
    const own = this.#orbits.get(satellite) ?? [];
    let [low, high] = [0, own.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (own[middle]!.referenceMs < gpsMs) low = middle + 1;
      else high = middle;
    }
    const beside = [own[low - 1], own[low]].filter(
      (orbit) => orbit !== undefined && gpsMs >= orbit.fromMs && gpsMs <= orbit.toMs,
    ) as KnownOrbit[];
    return beside.sort((a, b) => Math.abs(a.referenceMs - gpsMs) - Math.abs(b.referenceMs - gpsMs))[0];
  }

  #node(satellite: string, slot: number): Geocentric | undefined {
    const key = `${satellite} ${slot}`;
    if (this.#known.has(key)) return this.#known.get(key);
    const gpsMs = slot * stepMs;
    const nearest = this.#nearest(satellite, gpsMs);
    const found = nearest?.healthy ? nearest.orbit(gpsMs) : undefined;
    // Receivers of a network are read one after the other, each from its first day: a few weeks of the sky are enough.
    if (this.#known.size > 500_000) this.#known.clear();
    this.#known.set(key, found);
    return found;
  }
}
