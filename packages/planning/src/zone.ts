/** A point of the plan, metres east and north of its origin. */
export interface PlanPoint {
  readonly east: number;
  readonly north: number;
}

/**
 * Distance of a point from the edge of a ring, metres: positive outside, negative inside. Plane geometry, since zones are a few kilometres
 * wide; even-odd rule for what is inside.
 *
 * @param ring points in their order; the last one is joined to the first
 */
export function clearance({ east, north }: PlanPoint, ring: readonly PlanPoint[]): number {
  let inside = false;
  let nearest = Number.POSITIVE_INFINITY;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [a, b] = [ring[j]!, ring[i]!];
    const [de, dn] = [b.east - a.east, b.north - a.north];
    const length2 = de * de + dn * dn;
    const along =
      length2 === 0 ? 0 : Math.max(0, Math.min(1, ((east - a.east) * de + (north - a.north) * dn) / length2));
    nearest = Math.min(nearest, Math.hypot(east - a.east - along * de, north - a.north - along * dn));
    if (a.north > north !== b.north > north && east < a.east + ((north - a.north) / dn) * de)
      inside = !inside;
  }
  return inside ? -nearest : nearest;
}

/** An area: its outer ring, and those that are cut out of it. */
export type Area = readonly (readonly PlanPoint[])[];

/**
 * Clearance from several areas: inside where it is inside of one. Where areas overlap, how far it is inside is told from the one that it is deepest
 * in, which is at most too little.
 */
export function clearanceOfAll(point: PlanPoint, areas: readonly Area[]): number {
  return Math.min(
    ...areas.map((rings) => {
      const [outer, ...holes] = rings.map((ring) => clearance(point, ring));
      // In a hole one is outside, as far as its edge is away.
      return Math.max(outer!, ...holes.map((distance) => -distance));
    }),
  );
}

/** Two sides of a ring that cross each other, by the numbers of their first points; undefined where none do. */
export function selfCrossing(ring: readonly PlanPoint[]): readonly [number, number] | undefined {
  const n = ring.length;
  const turn = (a: PlanPoint, b: PlanPoint, c: PlanPoint): number =>
    (b.east - a.east) * (c.north - a.north) - (b.north - a.north) * (c.east - a.east);
  for (let i = 0; i < n; i++)
    for (let j = i + 2; j < n; j++) {
      if (i === 0 && j === n - 1) continue;
      const [a, b, c, d] = [ring[i]!, ring[(i + 1) % n]!, ring[j]!, ring[(j + 1) % n]!];
      if (turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0) return [i, j];
    }
  return undefined;
}

/** A tunnel or shaft whose settlement is a trough across it. */
export interface Trough {
  /** Depth of its axis and largest settlement over it, metres. */
  readonly depth: number;
  readonly settlement: number;
  /** Width of the trough for its depth: 0.4 to 0.6 in clay, 0.25 to 0.45 in sand. */
  readonly widthFactor: number;
  /** Settlement that does not matter any more, metres. */
  readonly negligible: number;
}

/**
 * How far beside its axis the trough of a tunnel settles the ground by more than what is negligible, metres: S(x) = S0 exp(-x^2 / (2 i^2)) with
 * i = K z (Peck 1969, 7th ICSMFE, state of the art volume, 225-290; K by O'Reilly and New 1982, Tunnelling '82, 173-181; both from
 * memory). A rule for a first guess: the ground decides, and the geotechnical engineer.
 */
export function troughReach({ depth, settlement, widthFactor, negligible }: Trough): number {
  if (settlement <= negligible) return 0;
  return widthFactor * depth * Math.sqrt(2 * Math.log(settlement / negligible));
}

/** How far beyond the edge of an excavation at depth the ground is drawn down, metres: depth times the tangent of the angle of draw. */
export function drawReach(depth: number, angleDeg: number): number {
  return depth * Math.tan((angleDeg * Math.PI) / 180);
}
