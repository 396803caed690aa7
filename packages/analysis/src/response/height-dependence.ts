import { leastSquares } from '@stillmark/estimation';
import { ProblemError } from '@stillmark/problems';
import { dayMs, type HeightDependence } from '@stillmark/records';
import { annualOf } from '../trajectory.ts';
import { centred, fitSeries, seriesTerms, yearMs, type KnownStep } from '../series-model.ts';
import { withoutSteps } from '../ties.ts';
import type { WindowSeries } from '../windows.ts';

/** Fewer stations than this, and heights within so many metres, say nothing of a slope (common practice, no source). */
const leastStations = 5;
const leastHeight = 20;
const leastDays = 60;
/** Slopes are told in millimetres in so many metres. */
const unitMetres = 100;

export interface HeightTask {
  readonly stream: string;
  readonly stations: readonly {
    readonly daily: WindowSeries;
    readonly events: readonly KnownStep[];
    /** Above the base, metres. */
    readonly height: number;
  }[];
  readonly confidence: number;
}

/**
 * Up of the stations of a stream against their height above the base, day by day: what of the delay of the troposphere the processing
 * left grows with that height, and looks like temperature. Each station is taken about its own line and steps, so that movements that
 * go on are not in it; the slope of a day is ordinary least squares over the stations.
 *
 * @returns undefined where stations, heights or days are too few
 */
export function heightDependence({ stream, stations, confidence }: HeightTask): HeightDependence | undefined {
  const series = stations.flatMap(({ daily, events, height }) => {
    const windows = withoutSteps(daily, events);
    if (windows.slot.length < leastDays) return [];
    try {
      const { design, p } = seriesTerms(windows, events);
      return [{ windows, height, rest: leastSquares(design, p, centred(windows.up)).residuals }];
    } catch (error) {
      if (error instanceof ProblemError) return [];
      throw error;
    }
  });
  const heights = series.map(({ height }) => height);
  const heightSpan =
    Math.max(...heights, Number.NEGATIVE_INFINITY) - Math.min(...heights, Number.POSITIVE_INFINITY);
  if (series.length < leastStations || heightSpan < leastHeight) return undefined;

  const byDay = new Map<number, { height: number; up: number }[]>();
  for (const { windows, height, rest } of series)
    rest.forEach((up, i) => {
      const day = windows.slot[i]!;
      const own = byDay.get(day);
      if (own) own.push({ height, up });
      else byDay.set(day, [{ height, up }]);
    });
  const days: number[] = [];
  const slopes: number[] = [];
  const variances: number[] = [];
  for (const [day, points] of [...byDay].sort(([a], [b]) => a - b)) {
    if (points.length < leastStations) continue;
    const design = Float64Array.from(points.flatMap(({ height }) => [1, height / unitMetres]));
    try {
      const fit = leastSquares(
        design,
        2,
        Float64Array.from(points, ({ up }) => up),
      );
      days.push(day);
      slopes.push(fit.coefficients[1]!);
      variances.push(fit.variance * fit.cofactor[3]!);
    } catch (error) {
      // On this day the stations that are there stand equally high.
      if (!(error instanceof ProblemError)) throw error;
    }
  }
  const n = days.length;
  if (n < leastDays) return undefined;
  const mean = slopes.reduce((s, v) => s + v, 0) / n;
  return {
    stream,
    stations: series.length,
    heightSpan_m: heightSpan,
    days: n,
    scatter_mm: 1000 * Math.sqrt(slopes.reduce((s, v) => s + (v - mean) ** 2, 0) / (n - 1)),
    expected_mm: 1000 * Math.sqrt(variances.reduce((s, v) => s + v, 0) / n),
    ...yearlyWave(days, slopes, confidence),
  };
}

function yearlyWave(
  days: readonly number[],
  slopes: readonly number[],
  confidence: number,
): Pick<HeightDependence, 'annual'> {
  if ((days.at(-1)! - days[0]!) * dayMs < yearMs - 2 * dayMs) return {};
  const terms = seriesTerms({ slot: Float64Array.from(days), windowMs: dayMs }, [], { seasons: true });
  try {
    const [fit] = fitSeries(terms, [Float64Array.from(slopes)], [{ of: [0] }]);
    return { annual: annualOf(fit!, 2, confidence) };
  } catch (error) {
    if (error instanceof ProblemError) return {};
    throw error;
  }
}
