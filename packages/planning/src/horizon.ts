import { degrees } from '@stillmark/geodesy';

/** A point of what stands around an antenna, degrees; azimuth clockwise from north. */
export interface HorizonPoint {
  readonly azimuth: number;
  readonly elevation: number;
}

/** What an antenna cannot see: the elevation mask of its receiver, and what stands around it, on straight lines between its points. */
export class Horizon {
  readonly #points: readonly HorizonPoint[];
  readonly #mask: number;

  /** @param points in any order; none where nothing stands around */
  constructor(points: readonly HorizonPoint[], maskDeg: number) {
    this.#points = [...points].sort((a, b) => a.azimuth - b.azimuth);
    this.#mask = maskDeg;
  }

  /** Degrees. */
  get mask(): number {
    return this.#mask;
  }

  /** True where nothing stands around. */
  get open(): boolean {
    return this.#points.length === 0;
  }

  /** Least elevation at which a satellite is seen in a direction, degrees. */
  at(azimuthDeg: number): number {
    const n = this.#points.length;
    if (n === 0) return this.#mask;
    const azimuth = ((azimuthDeg % 360) + 360) % 360;
    const next = this.#points.findIndex((p) => p.azimuth > azimuth);
    const after = this.#points[next < 0 ? 0 : next]!;
    const before = this.#points[next < 0 ? n - 1 : (next + n - 1) % n]!;
    const gap = (after.azimuth - before.azimuth + 360) % 360 || 360;
    const part = ((azimuth - before.azimuth + 360) % 360) / gap;
    return Math.max(this.#mask, before.elevation + part * (after.elevation - before.elevation));
  }

  /** @param azimuth radians */
  sees(azimuth: number, elevation: number): boolean {
    return degrees(elevation) >= this.at(degrees(azimuth));
  }
}
