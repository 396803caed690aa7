/** An ellipsoid of revolution by its defining parameters; lengths in metres. */
export interface Ellipsoid {
  readonly name: string;
  /** Semi-major axis a, metres. */
  readonly a: number;
  /** Flattening f = (a - b) / a. */
  readonly f: number;
}

/** Registered ellipsoids. Source: EPSG Dataset v13.101 (2026), entries 7030 and 7019. */
export const ellipsoids = {
  'WGS 84': { name: 'WGS 84', a: 6_378_137, f: 1 / 298.257223563 },
  'GRS 1980': { name: 'GRS 1980', a: 6_378_137, f: 1 / 298.257222101 },
} as const satisfies Record<string, Ellipsoid>;

export type EllipsoidName = keyof typeof ellipsoids;

export function ellipsoidNamed(name: string): Ellipsoid | undefined {
  return Object.hasOwn(ellipsoids, name) ? ellipsoids[name as EllipsoidName] : undefined;
}
