import type { Ellipsoid } from '../ellipsoid.ts';
import { toGeocentric, toGeodetic, type Geocentric } from '../geocentric.ts';
import type { TopocentricFrame } from '../topocentric.ts';
import { fittedAffine, type PlaneAffine, type PlanePoint } from './plane-affine.ts';

/** Metres east and north of the origin of a plan. */
export interface PlanArea {
  readonly east: readonly [number, number];
  readonly north: readonly [number, number];
}

const samples = 9;

/**
 * How a map lies on the plan of a site, whose axes are east and north at an origin: turned by the convergence, scaled by the point scale
 * factor and by the height. Within a site that is affine but for what is told; it is fitted to points at the height of the origin.
 *
 * @param toMap coordinates of a point on the map, in the unit of the map
 * @param area of the plan in which it must hold
 * @returns the way from the map to the plan, and the largest distance in metres that it leaves within the area
 * @throws GEODESY_PROJECTION where the map has no value there
 */
export function mapOnPlan(
  toMap: (point: Geocentric) => PlanePoint,
  origin: TopocentricFrame,
  ellipsoid: Ellipsoid,
  { east, north }: PlanArea,
): { map: PlaneAffine; largest_m: number } {
  const between = ([from, to]: readonly [number, number], i: number): number =>
    from + ((to - from) * i) / (samples - 1);
  const pairs = Array.from({ length: samples * samples }, (_, i): [PlanePoint, PlanePoint] => {
    const flat = origin.toGeocentric({
      east: between(east, i % samples),
      north: between(north, Math.floor(i / samples)),
      up: 0,
    });
    // Of the plane that touches the ellipsoid down to the height of the origin.
    const ground = toGeocentric(ellipsoid, {
      ...toGeodetic(ellipsoid, flat),
      height: origin.geodetic.height,
    });
    const at = origin.fromGeocentric(ground);
    return [toMap(ground), [at.east, at.north]];
  });
  const { map, largest } = fittedAffine(pairs);
  return { map, largest_m: largest };
}
