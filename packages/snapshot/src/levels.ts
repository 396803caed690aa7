import type { StationSeries } from '@stillmark/records';
import { axes } from './series-read.ts';

/** Lengths that bins may have: from a quarter of a minute to 45 days, each four times the one before. */
const ladderMs = Array.from({ length: 10 }, (_, k) => 15_000 * 4 ** k);

/** From so many epochs on a series has levels; up to there a reader fetches all of it. */
const longSeries = 30_000;
/** A level holds at least so many epochs a bin, else the epochs themselves serve. */
const worthwhile = 8;
/** The coarsest level needs no more rows than this: a screen has fewer pixels. */
const coarsest = 3_000;

/** Epochs of a series, or the least and the greatest of them in bins. */
export type Epochs = StationSeries['epochs'];

export interface Level {
  /** Length of the bins, milliseconds; they begin at whole multiples of it since 1970 in UTC. */
  readonly binMs: number;
  /** For each bin that holds epochs a row of the least values and one of the greatest, axis by axis; of a single epoch its own row. */
  readonly epochs: Epochs;
}

/**
 * The least and the greatest of epochs in bins of a length. Epochs that are set aside are kept apart from those that are used, so that
 * neither hides the other; positions that came twice are left out, since no figure shows them. Rows come in order of time, each at the
 * middle between the first and the last epoch of its bin. Levels of levels are levels of the epochs.
 */
export function leastAndGreatest(epochs: Epochs, binMs: number): Epochs {
  const { timesMs, flag } = epochs;
  const names = axes.filter((axis) => epochs[`${axis}_mm`]);
  const given = names.map((axis) => epochs[`${axis}_mm`]!);
  const rows: Rows = { times: [], flags: [], values: names.map(() => []) };
  const used = emptyBin(names.length);
  const aside = emptyBin(names.length);
  let open = Number.NaN;
  for (let i = 0; i < timesMs.length; i++) {
    if (flag[i] === 3) continue;
    const t = timesMs[i]!;
    const bin = Math.floor(t / binMs);
    if (bin !== open) {
      write(used, rows);
      write(aside, rows);
      open = bin;
    }
    const into = flag[i] === 0 ? used : aside;
    if (into.count++ === 0) {
      into.first = t;
      into.flag = flag[i]!;
      into.low.fill(Number.POSITIVE_INFINITY);
      into.high.fill(Number.NEGATIVE_INFINITY);
    }
    into.last = t;
    for (let k = 0; k < given.length; k++) {
      const value = given[k]![i]!;
      if (value < into.low[k]!) into.low[k] = value;
      if (value > into.high[k]!) into.high[k] = value;
    }
  }
  write(used, rows);
  write(aside, rows);
  // What is used and what is set aside of a bin stand one after the other: their middles may not.
  const order = rows.times.map((_, i) => i).sort((a, b) => rows.times[a]! - rows.times[b]! || a - b);
  return {
    timesMs: Float64Array.from(order, (i) => rows.times[i]!),
    flag: Uint8Array.from(order, (i) => rows.flags[i]!),
    ...Object.fromEntries(
      names.map((axis, k) => [`${axis}_mm`, Float64Array.from(order, (i) => rows.values[k]![i]!)]),
    ),
  } as unknown as Epochs;
}

interface Rows {
  readonly times: number[];
  readonly flags: number[];
  readonly values: readonly number[][];
}

interface Bin {
  count: number;
  first: number;
  last: number;
  flag: number;
  readonly low: Float64Array;
  readonly high: Float64Array;
}

const emptyBin = (n: number): Bin => ({
  count: 0,
  first: 0,
  last: 0,
  flag: 0,
  low: new Float64Array(n),
  high: new Float64Array(n),
});

/** Ends a bin: a row where all its values are alike, else two. */
function write(bin: Bin, { times, flags, values }: Rows): void {
  if (bin.count === 0) return;
  const alike = bin.low.every((low, k) => low === bin.high[k]);
  for (const side of alike ? [bin.low] : [bin.low, bin.high]) {
    times.push(Math.round((bin.first + bin.last) / 2));
    flags.push(bin.flag);
    values.forEach((column, k) => column.push(side[k]!));
  }
  bin.count = 0;
}

/** The lengths of the bins of a series' levels, from the finest to the coarsest; none where all epochs are few. */
export function levelLengths({ timesMs }: Epochs): number[] {
  const n = timesMs.length;
  if (n < longSeries) return [];
  const spanMs = timesMs[n - 1]! - timesMs[0]!;
  const lengths: number[] = [];
  for (const binMs of ladderMs) {
    const bins = spanMs / binMs;
    if (n < worthwhile * bins) continue;
    lengths.push(binMs);
    if (2 * bins <= coarsest) break;
  }
  return lengths;
}

/** The levels of a series, each made of the one before. */
export function levelsOf(epochs: Epochs): Level[] {
  let finer = epochs;
  return levelLengths(epochs).map((binMs) => ({ binMs, epochs: (finer = leastAndGreatest(finer, binMs)) }));
}

/** A level that fits into so many rows; the epochs themselves (bins of no length) where they do. */
export function levelWithin(epochs: Epochs, rows: number): Level {
  const { timesMs } = epochs;
  const spanMs = timesMs.length > 0 ? timesMs.at(-1)! - timesMs[0]! : 0;
  const binMs = ladderMs.find((length) => 2 * (spanMs / length) <= rows);
  return timesMs.length <= rows || binMs === undefined
    ? { binMs: 0, epochs }
    : { binMs, epochs: leastAndGreatest(epochs, binMs) };
}
