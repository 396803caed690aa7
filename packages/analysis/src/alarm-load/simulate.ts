import { satterthwaite, studentFactor, type NoiseComponents } from '@stillmark/estimation';
import { dayMs, type AlarmSetting, type StationQuantity } from '@stillmark/records';
import { ReferenceContrast } from '../contrast.ts';
import type { Axis } from '../topocentric-series.ts';
import type { WindowSeries } from '../windows.ts';
import { Latch } from './latch.ts';
import { UnitPaths, type UnitPath } from './paths.ts';

/** The noise of a station: variances in square metres of single windows. */
export interface LoadStation {
  readonly id: string;
  readonly noise: Readonly<Record<Axis, NoiseComponents>>;
  /** Correlation of east and north. */
  readonly eastNorth: number;
}

export interface LoadTask {
  readonly quantity: StationQuantity;
  readonly side: 'either' | 'positive' | 'negative';
  /** Azimuth of the structure's longitudinal axis in radians, where it has one. */
  readonly longitudinal?: number;
  readonly stations: readonly LoadStation[];
  /** Share of the variance that stations have in common: that of their base. */
  readonly shared: number;
  readonly windowMs: number;
  readonly referenceMs: number;
  readonly confidence: number;
  readonly candidates: readonly AlarmSetting[];
  /** A sudden movement in millimetres, and a steady one in millimetres a day. */
  readonly step?: number;
  readonly ramp?: number;
  /** So many runs of a year; an even number. */
  readonly runs: number;
  readonly seed: number;
}

/** What a candidate does in all runs. */
export interface CandidateLoad {
  /** False alarms of each station in all its runs. */
  readonly alarms: Float64Array;
  /** Messages of the whole network: levels reached and left. */
  readonly messages: number;
  /** Months (of 30 days) of the network, and those of them in which no level was reached at any time. */
  readonly months: number;
  readonly quietMonths: number;
  /** Milliseconds from the begin of a movement to the end of the mean that reports it, by station; infinite where it is not found, or a false alarm stood when it began. */
  readonly step?: readonly Float64Array[];
  readonly ramp?: readonly Float64Array[];
}

const simulatedDays = 360;
const monthDays = 30;
/** Days after the reference period at which movements begin. */
const onsetDays = [60, 240] as const;
/** So long a movement is waited for. */
export const waitedDays = { step: 30, ramp: 120 } as const;

/** Months of 30 days that are simulated of the network. */
export function simulatedMonths({ runs }: Pick<LoadTask, 'runs'>): number {
  return (runs * simulatedDays) / monthDays;
}

/**
 * How often candidates of alarms fire while nothing moves, and how late they find a movement, by simulation: white and flicker noise of each
 * station, part of it shared through the base, with a reference period before; the figures and their intervals are those that would be
 * stated, and the latch is that of triggers. The noise is taken as known. Deterministic by the seed.
 */
export function simulateLoad(task: LoadTask): CandidateLoad[] {
  const { stations, runs, candidates, windowMs } = task;
  const n = Math.round((task.referenceMs + simulatedDays * dayMs) / windowMs);
  const axes: Axis[] = task.quantity === 'up' ? ['up'] : ['east', 'north'];
  const paths = new UnitPaths(n);
  // Each station and axis has a seed of its own, the base the first.
  const pathsOf = (index: number): UnitPath[][] =>
    axes.map((_, a) => paths.of(task.seed + 7919 * (3 * index + a), runs));
  const base = pathsOf(0);
  const grids = [...new Set(candidates.map((c) => c.windowMs))].map(
    (length) => new MeanGrid(task, length, n),
  );
  const out = candidates.map((candidate) => new Tally(candidate, task, runs));
  const series = axes.map(() => new Float64Array(n));
  stations.forEach((station, s) => {
    for (const grid of grids) grid.of(station);
    const own = pathsOf(s + 1);
    for (let r = 0; r < runs; r++) {
      fill(series, station, axes, task, (a) => [base[a]![r]!, own[a]![r]!]);
      for (const grid of grids) {
        const means = series.map((values) => grid.means(values));
        const tallies = out.filter(({ setting }) => setting.windowMs === grid.length);
        const still = grid.reaches(means);
        for (const tally of tallies) tally.still(still[tally.setting.basis], still.estimate, s, r, grid);
        for (const kind of ['step', 'ramp'] as const) {
          const size = task[kind];
          if (size === undefined) continue;
          onsetDays.forEach((day, k) => {
            // Begins fall on all parts of a window.
            const onset =
              grid.reference + Math.round((day * dayMs) / windowMs) + ((r + 3 * k) % grid.perMean);
            const azimuth = 2.399963 * (r + runs * k);
            const moved = grid.moved(means, onset, kind, size, azimuth);
            for (const tally of tallies) tally.found(kind, moved, still, { s, onset, grid });
          });
        }
      }
    }
  });
  return out.map((tally) => tally.result());
}

/** The noise of a station in a run, about the mean of its reference period; metres. */
function fill(
  series: readonly Float64Array[],
  { noise, eastNorth }: LoadStation,
  axes: readonly Axis[],
  { shared, referenceMs, windowMs }: LoadTask,
  pathsOf: (axis: number) => readonly [UnitPath, UnitPath],
): void {
  const [b, o] = [Math.sqrt(shared), Math.sqrt(1 - shared)];
  axes.forEach((axis, a) => {
    const [base, own] = pathsOf(a);
    const values = series[a]!;
    const [w, f] = [Math.sqrt(noise[axis].white), Math.sqrt(noise[axis].flicker)];
    for (let i = 0; i < values.length; i++)
      values[i] =
        w * (b * base.white[i]! + o * own.white[i]!) + f * (b * base.flicker[i]! + o * own.flicker[i]!);
  });
  if (axes.length === 2 && eastNorth !== 0) {
    const [east, north] = [series[0]!, series[1]!];
    const [se, sn] = [east, north].map((_, a) => Math.sqrt(noise[axes[a]!].white + noise[axes[a]!].flicker));
    const rest = Math.sqrt(1 - eastNorth * eastNorth);
    for (let i = 0; i < north.length; i++) north[i] = eastNorth * (sn! / se!) * east[i]! + rest * north[i]!;
  }
  const reference = Math.round(referenceMs / windowMs);
  for (const values of series) {
    let mean = 0;
    for (let i = 0; i < reference; i++) mean += values[i]! / reference;
    for (let i = 0; i < values.length; i++) values[i]! -= mean;
  }
}

type Reaches = Readonly<Record<AlarmSetting['basis'], Float64Array>>;

/** Means of one length after the reference period, with the intervals that they would be stated with. */
class MeanGrid {
  readonly length: number;
  /** Windows in a mean, and in the reference period. */
  readonly perMean: number;
  readonly reference: number;
  readonly count: number;
  readonly #task: LoadTask;
  readonly #coefficients: readonly { readonly a: number; readonly b: number }[];
  /** Half-widths of the watched axis, or variances and covariance of east and north times the square of their factor; millimetres. */
  #half: readonly Float64Array[] = [];

  constructor(task: LoadTask, length: number, n: number) {
    this.#task = task;
    this.length = length;
    this.perMean = length / task.windowMs;
    this.reference = Math.round(task.referenceMs / task.windowMs);
    this.count = Math.floor((n - this.reference) / this.perMean);
    const contrast = new ReferenceContrast(emptyWindows(n, task.windowMs), { from: 0, to: this.reference });
    this.#coefficients = Array.from({ length: this.count }, (_, k) => {
      const range = { from: this.#start(k), to: this.#start(k) + this.perMean };
      return contrast.tiedCoefficients(contrast.mean(range), range);
    });
  }

  #start(k: number): number {
    return this.reference + k * this.perMean;
  }

  /** The intervals of a station. */
  of({ noise, eastNorth }: LoadStation): void {
    const { confidence, quantity } = this.#task;
    const columns = [0, 1, 2].map(() => new Float64Array(this.count));
    this.#coefficients.forEach(({ a, b }, k) => {
      const scaled = (variance: number, freedom: number): number =>
        1e6 * studentFactor(confidence, freedom) ** 2 * variance;
      if (quantity === 'up') {
        const { variance, degreesOfFreedom } = satterthwaite(noise.up, a, b);
        columns[0]![k] = scaled(variance, degreesOfFreedom);
        return;
      }
      const [e, n] = [satterthwaite(noise.east, a, b), satterthwaite(noise.north, a, b)];
      const freedom = Math.min(e.degreesOfFreedom, n.degreesOfFreedom);
      columns[0]![k] = scaled(e.variance, freedom);
      columns[1]![k] = scaled(n.variance, freedom);
      columns[2]![k] = scaled(eastNorth * Math.sqrt(e.variance * n.variance), freedom);
    });
    this.#half = columns;
  }

  /** Millimetres. */
  means(values: Float64Array): Float64Array {
    const out = new Float64Array(this.count);
    for (let k = 0; k < out.length; k++) {
      let sum = 0;
      const start = this.#start(k);
      for (let i = start; i < start + this.perMean; i++) sum += values[i]!;
      out[k] = (1000 * sum) / this.perMean;
    }
    return out;
  }

  reaches(means: readonly Float64Array[], first = 0): Reaches {
    const { quantity, side, longitudinal = 0 } = this.#task;
    const n = means[0]!.length;
    const estimate = new Float64Array(n);
    const confident = new Float64Array(n);
    const [ee, nn, en] = this.#half as [Float64Array, Float64Array, Float64Array];
    if (quantity === 'horizontal') {
      for (let k = 0; k < n; k++) {
        const [e, m, j] = [means[0]![k]!, means[1]![k]!, first + k];
        const size2 = e * e + m * m;
        const size = Math.sqrt(size2);
        estimate[k] = size;
        confident[k] = size - Math.sqrt((e * e * ee[j]! + 2 * e * m * en[j]! + m * m * nn[j]!) / size2);
      }
      return { estimate, confident };
    }
    const azimuths = {
      up: 0,
      east: Math.PI / 2,
      north: 0,
      longitudinal,
      transverse: longitudinal + Math.PI / 2,
    };
    const [sin, cos] = [Math.sin(azimuths[quantity]), Math.cos(azimuths[quantity])];
    const sign = side === 'negative' ? -1 : 1;
    for (let k = 0; k < n; k++) {
      const j = first + k;
      const value = quantity === 'up' ? means[0]![k]! : sin * means[0]![k]! + cos * means[1]![k]!;
      const variance =
        quantity === 'up' ? ee[j]! : sin * sin * ee[j]! + 2 * sin * cos * en[j]! + cos * cos * nn[j]!;
      const size = side === 'either' ? Math.abs(value) : sign * value;
      estimate[k] = size;
      confident[k] = size - Math.sqrt(variance);
    }
    return { estimate, confident };
  }

  /** The mean in which a window lies. */
  meanOf(window: number): number {
    return Math.floor((window - this.reference) / this.perMean);
  }

  /** Reaches from the mean in which a movement begins, for as long as it is waited for. */
  moved(
    means: readonly Float64Array[],
    onset: number,
    kind: 'step' | 'ramp',
    size: number,
    azimuth: number,
  ): Reaches {
    const { quantity, side, longitudinal = 0, windowMs } = this.#task;
    const first = this.meanOf(onset);
    const last = Math.min(this.count, first + Math.ceil((waitedDays[kind] * dayMs) / this.length));
    const sign = side === 'negative' ? -1 : 1;
    const direction = {
      horizontal: [Math.sin(azimuth), Math.cos(azimuth)],
      east: [sign, 0],
      north: [0, sign],
      longitudinal: [sign * Math.sin(longitudinal), sign * Math.cos(longitudinal)],
      transverse: [sign * Math.cos(longitudinal), -sign * Math.sin(longitudinal)],
      up: [sign],
    }[quantity];
    const days = windowMs / dayMs;
    // How far it has moved in the mean of its windows.
    const added = Array.from({ length: last - first }, (_, q) => {
      let sum = 0;
      const start = this.#start(first + q);
      for (let i = start; i < start + this.perMean; i++)
        if (i >= onset) sum += kind === 'step' ? size : size * days * (i - onset + 0.5);
      return sum / this.perMean;
    });
    return this.reaches(
      means.map((m, a) => Float64Array.from(added, (d, q) => m[first + q]! + direction[a]! * d)),
      first,
    );
  }
}

/** What one candidate does. */
class Tally {
  readonly setting: AlarmSetting;
  readonly #latch: Latch;
  readonly #alarms: Float64Array;
  readonly #noisy: Uint8Array;
  readonly #months = simulatedDays / monthDays;
  readonly #runs: number;
  /** Whether the latch is closed after each mean of the run that was tallied last. */
  readonly #closed: Uint8Array;
  #messages = 0;
  readonly #delays: Readonly<Record<'step' | 'ramp', number[][]>>;
  readonly #kinds: readonly ('step' | 'ramp')[];

  constructor(setting: AlarmSetting, task: LoadTask, runs: number) {
    this.setting = setting;
    this.#latch = new Latch(setting.level_mm, setting.release, setting.persistence);
    this.#alarms = new Float64Array(task.stations.length);
    this.#noisy = new Uint8Array(runs * this.#months);
    this.#runs = runs;
    this.#closed = new Uint8Array((simulatedDays * dayMs) / task.windowMs + 1);
    const lists = (): number[][] => task.stations.map(() => []);
    this.#delays = { step: lists(), ramp: lists() };
    this.#kinds = (['step', 'ramp'] as const).filter((kind) => task[kind] !== undefined);
  }

  still(reaches: Float64Array, sizes: Float64Array, s: number, r: number, grid: MeanGrid): void {
    const latch = this.#latch;
    latch.reset();
    for (let k = 0; k < reaches.length; k++) {
      const turns = latch.take(reaches[k]!, sizes[k]!);
      this.#closed[k] = latch.closed ? 1 : 0;
      if (latch.closed) {
        const month = Math.min(this.#months - 1, Math.floor((k * grid.length) / (monthDays * dayMs)));
        this.#noisy[r * this.#months + month] = 1;
      }
      if (!turns) continue;
      this.#messages++;
      if (latch.closed) this.#alarms[s]!++;
    }
  }

  found(
    kind: 'step' | 'ramp',
    moved: Reaches,
    still: Reaches,
    { s, onset, grid }: { readonly s: number; readonly onset: number; readonly grid: MeanGrid },
  ): void {
    const first = grid.meanOf(onset);
    const { basis, persistence } = this.setting;
    const latch = this.#latch;
    let delay = Number.POSITIVE_INFINITY;
    latch.reset();
    for (let k = Math.max(0, first - persistence.of); k < first; k++)
      latch.take(still[basis][k]!, still.estimate[k]!);
    latch.closed = false;
    // A latch that a false alarm has closed before tells nothing of what comes.
    const told = this.#closed[first - 1] === 1 ? 0 : moved.estimate.length;
    for (let q = 0; q < told; q++)
      if (latch.take(moved[basis][q]!, moved.estimate[q]!)) {
        const end = grid.reference + (first + q + 1) * grid.perMean;
        delay = (end - onset) * (grid.length / grid.perMean);
        break;
      }
    this.#delays[kind][s]!.push(delay);
  }

  result(): CandidateLoad {
    const months = this.#runs * this.#months;
    return {
      alarms: this.#alarms,
      messages: this.#messages,
      months,
      quietMonths: months - this.#noisy.reduce((sum, v) => sum + v, 0),
      ...Object.fromEntries(
        this.#kinds.map((kind) => [kind, this.#delays[kind].map((list) => Float64Array.from(list).sort())]),
      ),
    };
  }
}

function emptyWindows(n: number, windowMs: number): WindowSeries {
  const none = new Float64Array(n);
  return {
    windowMs,
    slot: Float64Array.from({ length: n }, (_, i) => i),
    epochs: new Int32Array(n),
    east: none,
    north: none,
    up: none,
    formal: { east: none, north: none, up: none },
  };
}
