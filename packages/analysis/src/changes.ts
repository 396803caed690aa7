import {
  averagePower,
  fP,
  fitTrajectories,
  PowerLawGls,
  studentFactor,
  type TrajectoryFit,
} from '@stillmark/estimation';
import { ProblemError } from '@stillmark/problems';
import { formatInstant, type ProposedChange } from '@stillmark/records';
import { yearMs, type ModelFits, type SeriesModel } from './series-model.ts';

type ChangesTask = SeriesModel & { readonly confidence: number };

/** Chance that a series without a change is given one. */
const significance = 0.001;
/** By so much twice the log likelihood of a step must lead that of another rate, or the other way: a likelihood ratio of twenty. */
const lead = 6;
/** Nearer to an end than this a change is not told from noise that lasts. */
const edge = 10;
/** First every so many means, then every one about the best. */
const stride = 4;
const most = 3;
/** Twice the log likelihood may fall by this within the interval of a date: 95 % of chi-square with one degree of freedom. */
const dateDrop = 3.84;

type Kind = ProposedChange['kind'];

/**
 * Changes that no event names: a step, or another rate from a time on. Proposed, and never put into any figure.
 *
 * At every time both are tried, under the noise that the series shows without them (which a change that is there makes larger: the
 * search would rather miss one). The improvements of the three axes together are an F statistic; the best is proposed where its
 * probability times the number of candidates is below a thousandth and the other kind explains clearly less. The search goes on about what was found, with the noise learnt anew.
 *
 * @param fits of the model without any change
 */
export function proposeChanges(model: SeriesModel, fits: ModelFits, confidence: number): ProposedChange[] {
  const task = { ...model, confidence };
  const found: (Candidate & { readonly p: number; readonly from: number; readonly to: number })[] = [];
  try {
    while (found.length < most) {
      const shares = found.length === 0 ? sharesOf(fits) : undefined;
      const next = bestChange(task, found, shares);
      if (!next) break;
      found.push(next);
    }
  } catch (error) {
    // Terms that cannot be told apart any more: what was found before stands.
    if (!(error instanceof ProblemError)) throw error;
  }
  return found
    .toSorted((a, b) => a.index - b.index)
    .map(({ kind, index, p, from, to, sizes }) => {
      const starts = (i: number): string => formatInstant(task.timesMs[i]! - task.windows.windowMs / 2);
      const [[east, eastHalf], [north, northHalf], [up, upHalf]] = sizes;
      return {
        kind,
        at: starts(index),
        earliest: starts(from),
        latest: starts(to),
        p,
        east_mm: 1000 * east,
        north_mm: 1000 * north,
        up_mm: 1000 * up,
        eastPlusMinus_mm: 1000 * eastHalf,
        northPlusMinus_mm: 1000 * northHalf,
        upPlusMinus_mm: 1000 * upHalf,
      };
    });
}

type Size = readonly [value: number, half: number];

interface Candidate {
  readonly kind: Kind;
  readonly index: number;
  readonly improvement: number;
  readonly sizes: readonly [Size, Size, Size];
}

/** Parts of the variance that are flicker noise, in plan and in up. */
type Shares = readonly [plan: number, up: number];

const sharesOf = ({ east, up }: ModelFits): Shares => [east.share.mean, up.share.mean];
const learnt = (fits: readonly TrajectoryFit[]): Shares => [fits[0]!.share.mean, fits[2]!.share.mean];

function bestChange(
  task: ChangesTask,
  found: readonly Candidate[],
  known: Shares | undefined,
): (Candidate & { readonly p: number; readonly from: number; readonly to: number }) | undefined {
  const { slots, series, response, confidence } = task;
  const n = slots.length;
  const { design, p } = extended(task, found);
  const gls = new PowerLawGls(slots, design, p, response);
  const unit = averagePower(slots, response);
  const shares = known ?? learnt(fitTrajectories(gls, series, [{ of: [0, 1] }, { of: [2] }], unit));
  const freedom = gls.degreesOfFreedom - 1;

  const tried = (candidates: readonly { readonly kind: Kind; readonly index: number }[]): Candidate[] => {
    const columns = candidates.map(({ kind, index }) => columnOf(task, kind, index));
    const scan = (share: number, of: readonly Float64Array[]): ReturnType<PowerLawGls['scan']> =>
      gls.scan(1 - share, share / unit, of, columns);
    const plan = scan(shares[0], [series[0], series[1]]);
    const vertical = scan(shares[1], [series[2]]);
    return candidates.map((candidate, k) => {
      const improvements = [...plan[k]!.improvement, ...vertical[k]!.improvement];
      const values = [...plan[k]!.size, ...vertical[k]!.size];
      // The size over its standard deviation is the root of the improvement.
      const sizes = values.map((value, axis): Size => {
        const root = Math.sqrt(improvements[axis]!);
        return [value, root === 0 ? 0 : (studentFactor(confidence, freedom) * Math.abs(value)) / root];
      });
      return {
        ...candidate,
        improvement: improvements.reduce((sum, v) => sum + v, 0),
        sizes: sizes as unknown as Candidate['sizes'],
      };
    });
  };
  const both = (index: number): { kind: Kind; index: number }[] => [
    { kind: 'step', index },
    { kind: 'rate', index },
  ];
  const range = (from: number, to: number, by: number): number[] => {
    const out: number[] = [];
    for (let i = Math.max(edge, from); i <= Math.min(n - edge, to); i += by) out.push(i);
    return out;
  };
  const coarse = tried(range(edge, n - edge, stride).flatMap(both));
  if (coarse.length === 0) return undefined;
  const rough = bestOf(coarse);
  const near = tried(range(rough.index - stride, rough.index + stride, 1).flatMap(both));
  const best = bestOf([rough, ...near]);
  const p_ = Math.min(1, 2 * n * fP(best.improvement / 3, 3, freedom));
  if (p_ > significance) return undefined;
  // In a creep steps fit nearly as well as a bend, and the other way: where the data do not say which, nothing is said.
  const other = [...coarse, ...near].filter(({ kind }) => kind !== best.kind);
  if (best.improvement - bestOf(other).improvement < lead) return undefined;
  const possible = [...coarse, ...near].filter(
    ({ kind, improvement }) => kind === best.kind && improvement > best.improvement - dateDrop,
  );
  const indices = [best.index, ...possible.map(({ index }) => index)];
  return { ...best, p: p_, from: Math.min(...indices), to: Math.max(...indices) };
}

function bestOf(candidates: readonly Candidate[]): Candidate {
  return candidates.reduce((a, b) => (b.improvement > a.improvement ? b : a));
}

/** The known terms and the changes that were found so far. */
function extended(task: ChangesTask, found: readonly Candidate[]): { design: Float64Array; p: number } {
  const n = task.slots.length;
  const p = task.p + found.length;
  const design = new Float64Array(n * p);
  const columns = found.map(({ kind, index }) => columnOf(task, kind, index));
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < task.p; j++) design[i * p + j] = task.design[i * task.p + j]!;
    columns.forEach((column, j) => (design[i * p + task.p + j] = column[i]!));
  }
  return { design, p };
}

/** One from an index on, or the years since it. */
function columnOf({ timesMs, windows: { windowMs } }: ChangesTask, kind: Kind, index: number): Float64Array {
  const start = timesMs[index]! - windowMs / 2;
  return timesMs.map((t) => (t < start ? 0 : kind === 'step' ? 1 : (t - start) / yearMs));
}
