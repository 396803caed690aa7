import { chiSquareQuantile, fP } from '@stillmark/estimation';

/** One measurement of a rover point, metres; series and sets count from 1. */
export interface BenchMeasurement {
  readonly series: number;
  readonly set: number;
  readonly point: 1 | 2;
  readonly x: number;
  readonly y: number;
  readonly h: number;
}

export interface BenchTask {
  readonly measurements: readonly BenchMeasurement[];
  /** Horizontal distance and difference of heights (point 2 less point 1) of the two points, known otherwise to 3 mm, metres. */
  readonly nominal: { readonly distance: number; readonly height: number };
  /** One sigma of a measurement as the maker states it, metres: in plan (both coordinates together) and in height. */
  readonly stated: { readonly plan: number; readonly height: number };
}

export interface BenchDifference {
  readonly series: number;
  readonly set: number;
  /** Measured less nominal, metres. */
  readonly distance: number;
  readonly height: number;
  readonly within: boolean;
}

export interface BenchResult {
  readonly procedure: 'simplified' | 'full';
  readonly differences: readonly BenchDifference[];
  /** Largest differences that pass: 2.5 sqrt(2) times the stated sigma. */
  readonly limits: { readonly distance: number; readonly height: number };
  /** Present for the full procedure. */
  readonly precision?: {
    readonly plan: PrecisionTest;
    readonly height: PrecisionTest;
  };
  readonly passed: boolean;
}

/** An experimental standard deviation against the stated one: chi-square test at 95 %. */
export interface PrecisionTest {
  /** Metres. */
  readonly sigma: number;
  readonly freedom: number;
  readonly limit: number;
  readonly passed: boolean;
}

const confidence = 0.95;
const sets = 5;

/**
 * Acceptance of a receiver on a test field of two rover points by the statistics of ISO 17123-8 (2015; from memory, its text was not at hand):
 * every set measures both points once; each distance and difference of heights must lie within 2.5 sqrt(2) s of what is known otherwise;
 * and of three series of five sets, hours apart, the standard deviation about the mean of each point is tested against the stated
 * one. One series is the simplified procedure, which has the first test alone.
 *
 * @returns why the measurements are no test, where they are none
 */
export function benchTest({ measurements, nominal, stated }: BenchTask): BenchResult | string {
  const pairs = pairsOf(measurements);
  if (typeof pairs === 'string') return pairs;
  const series = new Set(pairs.map(([a]) => a.series));
  if (series.size !== 1 && series.size !== 3)
    return `${series.size} series are neither one (simplified) nor three (full)`;
  for (const s of series) {
    const own = pairs.filter(([a]) => a.series === s).length;
    if (own !== sets) return `series ${s} has ${own} sets, five are needed`;
  }
  const limits = {
    distance: 2.5 * Math.SQRT2 * stated.plan,
    height: 2.5 * Math.SQRT2 * stated.height,
  };
  const differences = pairs.map(([a, b]): BenchDifference => {
    const distance = Math.hypot(b.x - a.x, b.y - a.y) - nominal.distance;
    const height = b.h - a.h - nominal.height;
    return {
      series: a.series,
      set: a.set,
      distance,
      height,
      within: Math.abs(distance) <= limits.distance && Math.abs(height) <= limits.height,
    };
  });
  const outliers = differences.some(({ within }) => !within);
  if (series.size === 1) return { procedure: 'simplified', differences, limits, passed: !outliers };
  const n = pairs.length;
  const freedom = 2 * n - 2;
  const squares = (of: 'x' | 'y' | 'h'): number =>
    [0, 1].reduce((sum, which) => {
      const values = pairs.map((pair) => pair[which]![of]);
      const mean = values.reduce((s, v) => s + (v - values[0]!), 0) / n;
      return sum + values.reduce((s, v) => s + (v - values[0]! - mean) ** 2, 0);
    }, 0);
  const tested = (variance: number, sigma: number, f: number): PrecisionTest => {
    const limit = sigma * Math.sqrt(chiSquareQuantile(confidence, f) / f);
    const found = Math.sqrt(variance);
    return { sigma: found, freedom: f, limit, passed: found <= limit };
  };
  const precision = {
    plan: tested(squares('x') / freedom + squares('y') / freedom, stated.plan, 2 * freedom),
    height: tested(squares('h') / freedom, stated.height, freedom),
  };
  return {
    procedure: 'full',
    differences,
    limits,
    precision,
    passed: !outliers && precision.plan.passed && precision.height.passed,
  };
}

function pairsOf(
  measurements: readonly BenchMeasurement[],
): (readonly [BenchMeasurement, BenchMeasurement])[] | string {
  const sorted = new Map<string, BenchMeasurement[]>();
  for (const m of measurements) {
    const key = `${String(m.series).padStart(6, '0')} ${String(m.set).padStart(6, '0')}`;
    sorted.set(key, [...(sorted.get(key) ?? []), m]);
  }
  const pairs: (readonly [BenchMeasurement, BenchMeasurement])[] = [];
  for (const [, own] of [...sorted].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const [first, second] = [1, 2].map((point) => own.filter((m) => m.point === point));
    const { series, set } = own[0]!;
    if (first!.length !== 1 || second!.length !== 1)
      return `set ${set} of series ${series} does not measure each of the two points once`;
    pairs.push([first![0]!, second![0]!]);
  }
  return pairs;
}

/** How probable two experimental standard deviations at least so different are where both receivers are alike: two-sided F test. */
export function sameDeviation(a: PrecisionTest, b: PrecisionTest): number {
  const ratio = (a.sigma / b.sigma) ** 2;
  const upper = fP(ratio, a.freedom, b.freedom);
  return Math.min(1, 2 * Math.min(upper, 1 - upper));
}
