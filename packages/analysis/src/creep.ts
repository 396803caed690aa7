import { PowerLawGls, averagePower, studentFactor } from '@stillmark/estimation';
import { dayMs, formatInstant, type CreepRecord } from '@stillmark/records';
import type { ModelFits, SeriesModel, KnownStep } from './series-model.ts';
import { perAxis, type Axis } from './topocentric-series.ts';

/** Times in which a relaxation runs, days; between them the data hardly tell. */
const spans = [7, 14, 30, 60, 120, 240];
/** With fewer means than this after an event nothing is said of a relaxation. */
const leastMeans = 30;

/** A relaxation that a search chose: its column for a model, and where it stands. */
export interface Creep {
  readonly column: Float64Array;
  readonly event: KnownStep;
  readonly kind: CreepRecord['kind'];
  readonly spanDays: number;
  /** What explains nearly as much, itself included. */
  readonly possible: readonly Omit<Creep, 'possible'>[];
}

/** Twice the log likelihood may fall by this within what is possible: 95 % of chi-square with one degree of freedom. */
const possibleDrop = 3.84;

/**
 * Movements that relax after an event: 1 - exp(-t / span) or ln(1 + t / span), tried after every event that may have one. The best enters
 * the model where it improves the fit by more than the Bayesian information criterion asks for its sizes and its span
 * (Schwarz 1978, Annals of Statistics 6, 461-464), each with the noise that the series shows beside it.
 *
 * @param events in order of time
 */
export function chooseCreep(model: SeriesModel, events: readonly KnownStep[]): Creep[] {
  const { slots, design, p, response, series, timesMs } = model;
  const candidates = events.flatMap((event): Omit<Creep, 'possible'>[] => {
    if (event.creep !== true) return [];
    const after = timesMs.filter((ms) => ms > event.atMs).length;
    if (after < leastMeans || after === timesMs.length) return [];
    return spans.flatMap((spanDays) =>
      (['exponential', 'logarithmic'] as const).map((kind): Omit<Creep, 'possible'> => ({
        event,
        kind,
        spanDays,
        column: timesMs.map((ms) => {
          const t = Math.max(0, ms - event.atMs) / dayMs / spanDays;
          return kind === 'exponential' ? -Math.expm1(-t) : Math.log1p(t);
        }),
      })),
    );
  });
  if (candidates.length === 0) return [];
  const gls = new PowerLawGls(slots, design, p, response);
  const unit = averagePower(slots, response);
  const columns = candidates.map(({ column }) => column);
  // The noise is learnt anew with each candidate: without it, flicker noise would take a relaxation up.
  const plan = gainOf(gls, unit, series.slice(0, 2), columns);
  const vertical = gainOf(gls, unit, series.slice(2), columns);
  const price = Math.log(slots.length);
  const chosen = new Map<KnownStep, { k: number; lead: number }>();
  candidates.forEach(({ event }, k) => {
    // It may be in plan, in up or in both: one size an axis, and its span.
    const lead = Math.max(
      plan[k]! - 3 * price,
      vertical[k]! - 2 * price,
      plan[k]! + vertical[k]! - 4 * price,
    );
    if (lead > (chosen.get(event)?.lead ?? 0)) chosen.set(event, { k, lead });
  });
  const total = (k: number): number => plan[k]! + vertical[k]!;
  return [...chosen].map(([event, { k: best }]) => ({
    ...candidates[best]!,
    possible: candidates.filter((own, k) => own.event === event && total(k) > total(best) - possibleDrop),
  }));
}

/** Parts of the variance that flicker noise may have. */
const shares = [0.001, 0.01, 0.05, 0.12, 0.22, 0.35, 0.5, 0.65, 0.8, 0.9, 0.97];

/** By how much twice the log likelihood grows with one more term, at the best share with it and without. */
function gainOf(
  gls: PowerLawGls,
  unit: number,
  series: readonly Float64Array[],
  columns: readonly Float64Array[],
): number[] {
  const freedom = gls.degreesOfFreedom;
  const n = series[0]!.length;
  let least = Number.POSITIVE_INFINITY;
  const withTerm = columns.map(() => Number.POSITIVE_INFINITY);
  for (const share of shares) {
    const [white, power] = [1 - share, share / unit];
    const { logDeterminant, squares } = gls.fit(white, power, series);
    const cost = (left: readonly number[]): number =>
      left.reduce((sum, square) => sum + n * Math.log(square) + logDeterminant, 0);
    least = Math.min(least, cost(squares));
    gls.scan(white, power, series, columns).forEach(({ improvement }, k) => {
      // An improvement is told in units of the mean square without the term.
      const left = squares.map((square, s) => square * Math.max(1e-9, 1 - improvement[s]! / freedom));
      withTerm[k] = Math.min(withTerm[k]!, cost(left));
    });
  }
  return withTerm.map((cost) => least - cost);
}

/**
 * What a relaxation came to by the end of the series. Its span is not known: the interval holds what every span and kind gives that
 * explains nearly as much, each with its own interval.
 *
 * @param fitsOf fits of the model with another column in the place of the chosen one
 * @param term the place of the column
 */
export function creepRecord(
  { event, kind, spanDays, column, possible }: Creep,
  fits: ModelFits,
  term: number,
  fitsOf: (column: Float64Array) => ModelFits,
  confidence: number,
): CreepRecord {
  const sizes = (own: ModelFits, last: number, axis: Axis): [value: number, half: number] => {
    const { value, variance, degreesOfFreedom } = own[axis].estimates[term]!;
    return [
      1000 * last * value,
      1000 * last * studentFactor(confidence, degreesOfFreedom) * Math.sqrt(variance),
    ];
  };
  const others = possible
    .filter((own) => own.column !== column)
    .map((own) => ({ fits: fitsOf(own.column), last: own.column.at(-1)! }));
  return {
    at: formatInstant(event.atMs),
    what: event.what,
    kind,
    spanDays,
    shortestDays: Math.min(...possible.map((own) => own.spanDays)),
    longestDays: Math.max(...possible.map((own) => own.spanDays)),
    ...perAxis((axis) => {
      const [value, half] = sizes(fits, column.at(-1)!, axis);
      const reach = others.map((own) => {
        const [v, h] = sizes(own.fits, own.last, axis);
        return Math.abs(v - value) + h;
      });
      return { value_mm: value, plusMinus_mm: Math.max(half, ...reach) };
    }),
  };
}
