const parts = 32;
const arcs = Float64Array.from({ length: parts + 1 }, (_, i) => Math.atan(i / parts));

/**
 * Arc tangent of a number between -1 and 1, to the last place.
 *
 * The nearest of 33 arcs is taken from a table and the rest, atan((x - c) / (1 + x c)) of at most 1/64, from its series. Math.atan
 * chooses its formula by the size of the number, which for points all over the earth is guessed wrongly half of the time; without
 * a choice the conversion of coordinates takes two thirds of the time.
 */
export function arcTangent(x: number): number {
  const size = Math.abs(x);
  const k = (size * parts + 0.5) | 0;
  const c = k / parts;
  const t = (size - c) / (1 + size * c);
  const t2 = t * t;
  const arc = arcs[k]! + (t - t * t2 * (1 / 3 - t2 * (1 / 5 - t2 * (1 / 7 - t2 / 9))));
  return x < 0 ? -arc : arc;
}
