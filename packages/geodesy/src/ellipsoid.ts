import { fail } from '@stillmark/problems';
import table from './tables/ellipsoids.json' with { type: 'json' };

/** An ellipsoid of revolution by its defining parameters; lengths in metres. */
export interface Ellipsoid {
  readonly name: string;
  /** Semi-major axis a, metres. */
  readonly a: number;
  /** Flattening f = (a - b) / a. */
  readonly f: number;
}

/** The second parameter of an ellipsoid: what was defined, and nothing derived from it. */
export type Shape =
  | { readonly inverseFlattening: number }
  | { readonly flattening: number }
  | { readonly semiMinorAxis: number };

/**
 * An ellipsoid from its semi-major axis (metres) and one more parameter. An inverse flattening of 0 is a sphere, as registries
 * write it.
 *
 * @throws GEODESY_RANGE for an axis that is not positive, or a shape that is not oblate
 */
export function ellipsoidFrom(name: string, a: number, shape: Shape): Ellipsoid {
  if (!(a > 0) || !Number.isFinite(a))
    fail('GEODESY_RANGE', `the semi-major axis of ${name} is ${a} m`, { hint: 'a length in metres' });
  const f = flatteningOf(a, shape);
  if (!(f >= 0 && f < 1))
    fail('GEODESY_RANGE', `the flattening of ${name} is ${f}`, {
      hint: 'an oblate ellipsoid or a sphere: 0 to 1',
    });
  return { name, a, f };
}

function flatteningOf(a: number, shape: Shape): number {
  if ('flattening' in shape) return shape.flattening;
  if ('semiMinorAxis' in shape) return (a - shape.semiMinorAxis) / a;
  return shape.inverseFlattening === 0 ? 0 : 1 / shape.inverseFlattening;
}

/** b = a (1 - f), metres. */
export function semiMinorAxis({ a, f }: Ellipsoid): number {
  return a * (1 - f);
}

const registered = new Map<string, Ellipsoid>(
  (table.ellipsoids as { name: string; a: number; inverseFlattening?: number; b?: number }[]).map(
    ({ name, a, inverseFlattening, b }) => [
      name,
      ellipsoidFrom(name, a, inverseFlattening === undefined ? { semiMinorAxis: b! } : { inverseFlattening }),
    ],
  ),
);

/** Names of the registered ellipsoids. */
export const ellipsoidNames: readonly string[] = [...registered.keys()];

/** A registered ellipsoid by its name. */
export function ellipsoidNamed(name: string): Ellipsoid | undefined {
  return registered.get(name);
}

/** The two on which satellite positions stand. */
export const ellipsoids: Readonly<Record<'WGS 84' | 'GRS 1980', Ellipsoid>> = {
  'WGS 84': registered.get('WGS 84')!,
  'GRS 1980': registered.get('GRS 1980')!,
};

export type EllipsoidName = keyof typeof ellipsoids;
