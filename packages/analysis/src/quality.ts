import { hampel } from '@stillmark/estimation';
import { axes, type TopocentricSeries } from './topocentric-series.ts';

/** What was thought of each epoch. Nothing is removed from the store; flagged epochs are drawn faint and not used. */
export const epochFlag = { used: 0, outlier: 1, conflict: 2, repeated: 3 } as const;

export interface QualityReport {
  /** One of {@link epochFlag} for each epoch. */
  readonly flag: Uint8Array;
  readonly outliers: number;
  readonly conflicts: number;
  /** Runs of deviating epochs that last: perhaps the onset of a real movement. They are used, and said. */
  readonly unconfirmed: readonly {
    readonly fromMs: number;
    readonly toMs: number;
    readonly epochs: number;
  }[];
}

const hampelHalf = 24;
const hampelLimit = 5;
/** Metres: no receiver resolves less, so a quieter series does not make a 1 mm deviation an outlier. */
const hampelFloor = 0.0005;
/** As many deviating epochs in a row on one side are no chance wrong fixes any more (common practice, no source). */
const persistent = 3;

/**
 * Marks conflicting epochs (two different positions for one time), repeated ones (the same position again), and outliers by the Hampel identifier.
 *
 * A Hampel identifier also rejects the first epochs of a real step. Deviations that persist on one side, three epochs or
 * more, are therefore not rejected but reported as unconfirmed.
 *
 * @param breaksMs times at which the series steps for a known reason: epochs are compared with those of their own side only
 */
export function judgeEpochs(series: TopocentricSeries, breaksMs: readonly number[] = []): QualityReport {
  const n = series.timesMs.length;
  const flag = new Uint8Array(n);
  let conflicts = 0;
  for (let from = 0, to = 0; from < n; from = to) {
    for (to = from + 1; to < n && series.timesMs[to] === series.timesMs[from];) to++;
    // The same position delivered again, with other digits of covariance, is one epoch: the first in the order of the store.
    if (to === from + 1) continue;
    if (axes.every((axis) => agree(series[axis].subarray(from, to))))
      flag.fill(epochFlag.repeated, from + 1, to);
    else flag.fill(epochFlag.conflict, from, to);
  }
  const kept = new Int32Array(n - flag.reduce((sum, f) => sum + (f === epochFlag.used ? 0 : 1), 0));
  for (let i = 0, k = 0; i < n; i++) {
    if (flag[i] === epochFlag.conflict) conflicts++;
    else if (flag[i] === epochFlag.used) kept[k++] = i;
  }

  const cuts = breaksMs
    .toSorted((a, b) => a - b)
    .map((ms) => kept.findIndex((i) => series.timesMs[i]! >= ms))
    .filter((k) => k > 0);
  const bounds = [0, ...cuts, kept.length];
  const parts = bounds.slice(1).map((to, k) => ({ from: bounds[k]!, to }));

  const persists = new Uint8Array(kept.length);
  const deviates = new Uint8Array(kept.length);
  for (const axis of axes) {
    const all = series[axis];
    const values = new Float64Array(kept.length);
    for (let k = 0; k < kept.length; k++) values[k] = all[kept[k]!]!;
    const side = new Int8Array(kept.length);
    for (const { from, to } of parts)
      side.set(hampel(values.subarray(from, to), hampelHalf, hampelLimit, hampelFloor), from);
    for (const { from, to } of runs(side)) {
      for (let k = from; k < to; k++) {
        deviates[k] = 1;
        if (to - from >= persistent) persists[k] = 1;
      }
    }
  }

  let outliers = 0;
  const unconfirmed: { fromMs: number; toMs: number; epochs: number }[] = [];
  for (let k = 0; k < kept.length; k++) {
    if (persists[k]) {
      const timeMs = series.timesMs[kept[k]!]!;
      const last = unconfirmed.at(-1);
      if (last && k > 0 && persists[k - 1]) {
        last.toMs = timeMs;
        last.epochs++;
      } else unconfirmed.push({ fromMs: timeMs, toMs: timeMs, epochs: 1 });
    } else if (deviates[k]) {
      flag[kept[k]!] = epochFlag.outlier;
      outliers++;
    }
  }
  return { flag, outliers, conflicts, unconfirmed };
}

/** Positions nearer than this are one position, printed twice. Metres. */
const samePosition = 1e-6;

function agree(values: Float64Array): boolean {
  return Math.max(...values) - Math.min(...values) <= samePosition;
}

/** Runs of equal, non-zero values, as [from, to). */
function runs(side: Int8Array): { from: number; to: number }[] {
  const out: { from: number; to: number }[] = [];
  let from = 0;
  for (let i = 1; i <= side.length; i++) {
    if (i === side.length || side[i] !== side[from]) {
      if (side[from]) out.push({ from, to: i });
      from = i;
    }
  }
  return out;
}
