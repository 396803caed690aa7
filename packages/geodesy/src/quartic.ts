import { fail } from '@stillmark/problems';

/** Metres: beyond it squares lose what they are squares of, and nothing stands there. */
const farthest = 1e15;

/**
 * Geocentric to geodetic in closed form, for any oblate ellipsoid or sphere and any point but the centre. Writes latitude,
 * longitude (radians) and height (metres) to `out` at `at`.
 *
 * Solves the quartic of Vermeille (2002, J. Geodesy 76, 451-454) in the variables k and D, with the two branches of
 * its resolvent cubic as in Karney (2011, arXiv:1102.1215, appendix B), which keep it exact near the axis and inside
 * the evolute.
 *
 * @param point said after a message: which point it was
 * @throws GEODESY_RANGE for a value that is not finite, and within a millimetre of the centre
 */
export function solveQuartic(
  a: number,
  f: number,
  x: number,
  y: number,
  z: number,
  out: Float64Array,
  at: number,
  point: string,
): void {
  if (!Number.isFinite(x) || !Number.isFinite(y) || !Number.isFinite(z))
    fail('GEODESY_RANGE', `geocentric coordinates must be finite, not (${x}, ${y}, ${z})${point}`);
  if (Math.max(Math.abs(x), Math.abs(y), Math.abs(z)) > farthest)
    fail('GEODESY_RANGE', `(${x}, ${y}, ${z}) is no place near the earth${point}`, { hint: 'metres' });
  const e2 = f * (2 - f);
  const e4 = e2 * e2;
  const oneMinusE2 = (1 - f) * (1 - f);
  const radius = Math.sqrt(x * x + y * y);
  if (radius < 1e-3 && Math.abs(z) < 1e-3 && Math.hypot(radius, z) < 1e-3)
    fail('GEODESY_RANGE', `the point is at the centre of the ellipsoid: it has no latitude${point}`);
  // -0 would turn the meridian of the date line to -pi.
  out[at + 1] = radius === 0 ? 0 : Math.atan2(y + 0, x);

  const p = (radius / a) ** 2;
  const q = oneMinusE2 * (z / a) ** 2;
  const r = (p + q - e4) / 6;
  if (e4 * q === 0 && r <= 0) {
    // In the equatorial plane inside the evolute the nearest surface point is off the plane: the northern one is taken.
    const up = Math.sqrt((e4 - p) / oneMinusE2);
    const outward = Math.sqrt(p);
    const length = Math.hypot(up, outward);
    if (length === 0) {
      out[at] = Math.sign(z) * (Math.PI / 2);
      out[at + 2] = Math.abs(z) - a * (1 - f);
    } else {
      out[at] = Math.atan2(up, outward);
      out[at + 2] = (-a * oneMinusE2 * length) / e2;
    }
    return;
  }

  const u = resolventRoot(r, (e4 * p * q) / 4);
  const v = Math.sqrt(u * u + e4 * q);
  // u + v without cancellation where u is negative.
  const uv = u < 0 ? (e4 * q) / (v - u) : u + v;
  const w = Math.max(0, (e2 * (uv - q)) / (2 * v));
  const k = uv / (Math.sqrt(uv + w * w) + w);
  const d = (k * radius) / (k + e2);
  out[at] = Math.atan2(z / k, radius / (k + e2));
  out[at + 2] = (1 - oneMinusE2 / k) * Math.sqrt(d * d + z * z);
}

/** The real root u of Vermeille's resolvent cubic, for r and s as defined there. */
function resolventRoot(r: number, s: number): number {
  const r3 = r * r * r;
  const discriminant = s * (2 * r3 + s);
  if (discriminant >= 0) {
    const root = Math.sqrt(discriminant);
    const t3 = s + r3;
    const t = Math.cbrt(t3 < 0 ? t3 - root : t3 + root);
    return r + t + (t === 0 ? 0 : (r * r) / t);
  }
  const angle = Math.atan2(Math.sqrt(-discriminant), -(s + r3));
  return r + 2 * r * Math.cos(angle / 3);
}
