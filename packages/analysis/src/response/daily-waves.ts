import { fP, LeastSquaresDesign, studentFactor } from '@stillmark/estimation';
import { ProblemError } from '@stillmark/problems';
import { dayMs, type WaveComponent, type WaveRecord } from '@stillmark/records';
import { axes, type Axis } from '../topocentric-series.ts';
import { forget, type Remember } from '../remember.ts';
import { firstWindows, type WindowSeries } from '../windows.ts';

const hourMs = 3_600_000;

/** Periods in hours: mean solar day and its half; the lunar half-day and day by their speeds of 28.9841042 and 13.9430356 degrees an hour (Doodson 1921). */
const constituents = [
  { name: 'S1', hours: 24, lunar: false },
  { name: 'S2', hours: 12, lunar: false },
  { name: 'M2', hours: 360 / 28.984_104_2, lunar: true },
  { name: 'O1', hours: 360 / 13.943_035_6, lunar: true },
] as const;

/** Whole days of a block: the lunar waves are told from the solar ones in half a month (Rayleigh: 14.77 days). */
const blockDays = { solar: 3, lunar: 15 } as const;
const leastBlocks = 4;
const leastShare = 0.7;

/**
 * Waves of the sun and, where tides are looked for, of the moon: least squares in blocks of days, each about its own line, and the
 * mean of the blocks. Their scatter gives the uncertainty, whatever the noise within a block is (batch means); what lasts longer than
 * a block is in its line.
 *
 * What returns with the stars (multipath) passes through all hours in a year, and in shorter spans is part of S1 and S2.
 *
 * @param windows means of a few hours at most
 * @returns undefined where the blocks are fewer than four
 */
export function dailyWaves(
  windows: WindowSeries,
  tides: boolean,
  confidence: number,
  remember: Remember = forget,
): WaveRecord[] | undefined {
  const waves = constituents.filter(
    ({ hours, lunar }) => (tides || !lunar) && 2 * windows.windowMs < hours * hourMs,
  );
  if (waves.length === 0) return undefined;
  const blocks = blocksOf(windows, (tides ? blockDays.lunar : blockDays.solar) * dayMs);
  // To the block that the newest window lies in every hour may add; those before it are remembered.
  const closed = blocks.filter(({ to }) => to < windows.slot.length);
  const early = firstWindows(windows, closed.at(-1)?.to ?? 0);
  const found = [
    ...remember('waves of blocks', [early, closed, waves], () => fitsOf(early, closed, waves)),
    ...fitsOf(windows, blocks.slice(closed.length), waves),
  ];
  if (found.length < leastBlocks) return undefined;
  return waves.map(({ name, hours }, k): WaveRecord => {
    const component = (axis: Axis): WaveComponent =>
      componentOf(
        found.map((block) => [block[axis][2 + 2 * k]!, block[axis][3 + 2 * k]!]),
        hours * hourMs,
        confidence,
      );
    const [east, north, up] = axes.map(component) as [WaveComponent, WaveComponent, WaveComponent];
    return { name, periodMs: hours * hourMs, east, north, up };
  });
}

/** A span of whole days by the indices of its windows, [from, to). */
interface Block {
  readonly from: number;
  readonly to: number;
  readonly middle: number;
  readonly length: number;
}

/** Coefficients of the blocks in which the terms can be told apart: a line, then cosine and sine of each wave. */
function fitsOf(
  windows: WindowSeries,
  blocks: readonly Block[],
  waves: readonly (typeof constituents)[number][],
): Record<Axis, Float64Array>[] {
  const p = 2 + 2 * waves.length;
  const found: Record<Axis, Float64Array>[] = [];
  for (const { from, to, middle, length } of blocks) {
    const design = new Float64Array((to - from) * p);
    for (let i = from; i < to; i++) {
      const ms = (windows.slot[i]! + 0.5) * windows.windowMs;
      const row = (i - from) * p;
      design[row] = 1;
      design[row + 1] = (ms - middle) / length;
      waves.forEach(({ hours }, k) => {
        const angle = (2 * Math.PI * ms) / (hours * hourMs);
        design[row + 2 + 2 * k] = Math.cos(angle);
        design[row + 3 + 2 * k] = Math.sin(angle);
      });
    }
    try {
      const solver = new LeastSquaresDesign(design, p);
      const fit = (axis: Axis): Float64Array => {
        const values = windows[axis].subarray(from, to);
        return solver.fit(values.map((v) => v - values[0]!)).coefficients;
      };
      found.push({ east: fit('east'), north: fit('north'), up: fit('up') });
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
    }
  }
  return found;
}

/** Mean of a cosine and a sine over blocks; whether it is zero is Hotelling's (1931) question. */
function componentOf(
  pairs: readonly (readonly [number, number])[],
  periodMs: number,
  confidence: number,
): WaveComponent {
  const n = pairs.length;
  const mean = [0, 1].map((k) => pairs.reduce((s, pair) => s + pair[k]!, 0) / n) as [number, number];
  const product = (a: 0 | 1, b: 0 | 1): number =>
    pairs.reduce((s, pair) => s + (pair[a] - mean[a]) * (pair[b] - mean[b]), 0) / (n - 1) / n;
  const [cc, cs, ss] = [product(0, 0), product(0, 1), product(1, 1)];
  const amplitude = Math.hypot(...mean);
  const phase = Math.atan2(mean[1], mean[0]);
  const [c, s] = [Math.cos(phase), Math.sin(phase)];
  const variance = c * c * cc + 2 * c * s * cs + s * s * ss;
  const determinant = cc * ss - cs * cs;
  const t2 =
    determinant > 0 ? (ss * mean[0] ** 2 - 2 * cs * mean[0] * mean[1] + cc * mean[1] ** 2) / determinant : 0;
  return {
    amplitude_mm: 1000 * amplitude,
    plusMinus_mm: 1000 * studentFactor(confidence, n - 1) * Math.sqrt(variance),
    peakMs: ((phase / (2 * Math.PI) + 1) % 1) * periodMs,
    p: fP((t2 * (n - 2)) / (2 * (n - 1)), 2, n - 2),
  };
}

/** Spans of whole days that are mostly filled, one after the other. */
function blocksOf({ slot, windowMs }: WindowSeries, length: number): Block[] {
  const out: Block[] = [];
  const n = slot.length;
  const perBlock = length / windowMs;
  for (let i = 0; i < n;) {
    const start = Math.ceil((slot[i]! * windowMs) / dayMs) * dayMs;
    let from = i;
    while (from < n && slot[from]! * windowMs < start) from++;
    let to = from;
    while (to < n && slot[to]! * windowMs < start + length) to++;
    if (to - from >= leastShare * perBlock) out.push({ from, to, middle: start + length / 2, length });
    i = Math.max(to, i + 1);
  }
  return out;
}
