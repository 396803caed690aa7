import type { TopocentricFrame } from '@stillmark/geodesy';
import { fail, ProblemError } from '@stillmark/problems';
import {
  dayMs,
  formatInstant,
  type DataRecord,
  type EpochSeries,
  type Statement,
  type StationSeries,
  type StatementSettings,
} from '@stillmark/records';
import { ReferenceContrast, type WindowRange } from './contrast.ts';
import { displacement, leastFreedom, windowBands, type Judged } from './displacement.ts';
import { referenceNoise } from './noise.ts';
import { judgeEpochs, type QualityReport } from './quality.ts';
import { neededReferenceDays } from './reference.ts';
import { toTopocentricSeries, type TopocentricSeries } from './topocentric-series.ts';
import { usualSpacingMs, windowSolutions, windowsWithin, type WindowSeries } from './windows.ts';

export interface StationTask {
  /** All epochs up to the as-of time. */
  readonly series: EpochSeries;
  /** Axes at the committed reference position, or near the station until one is committed. */
  readonly frame: TopocentricFrame;
  readonly reference?: { readonly fromMs: number; readonly toMs: number };
  readonly settings: StatementSettings;
  readonly asOfMs: number;
  readonly processingIntervalMs: number;
}

export interface StationAnalysis {
  readonly data?: DataRecord;
  readonly series?: StationSeries;
  /** Present where a displacement can be judged; else `statement` says why not. */
  readonly judged?: Judged;
  readonly statement?: Exclude<Statement, { kind: 'displacement' }>;
}

/** From the epochs of one station to what can be said of it, before stations are judged together. */
export function analyseStation(task: StationTask): StationAnalysis {
  if (task.series.timesMs.length === 0) return { statement: { kind: 'no-data' } };
  const prepared = prepare(task);
  const { windows, local, quality } = prepared;
  const data = dataRecord(task, prepared);
  const base = { data, series: stationSeries(local, quality, windows) };
  if (!task.reference) {
    return {
      ...base,
      statement: { kind: 'establishing', observedDays: observedDays(local), neededDays: neededReferenceDays },
    };
  }

  const reference = windowsWithin(windows, task.reference.fromMs, task.reference.toMs);
  const now = presentWindows(windows, task.asOfMs, task.settings.statementMs);
  try {
    if (reference.to - reference.from === 0)
      fail('ESTIMATION_INPUT', 'the reference period holds no window solution');
    const contrast = new ReferenceContrast(windows, reference);
    const noise = referenceNoise(windows, contrast);
    if (noise.eastNorth ** 2 > 1 - 1e-9) fail('ESTIMATION_INPUT', 'east and north are copies of each other');
    const bands = windowBands(contrast, noise, task.settings.confidence);
    const series = stationSeries(local, quality, windows, bands);
    if (now.to === now.from) return { data, series, statement: { kind: 'no-data' } };
    const d = displacement(windows, contrast, noise, now);
    if (Math.min(d.horizontalFreedom, d.upFreedom) < leastFreedom) {
      fail('ESTIMATION_INPUT', 'the reference period is too short to know the noise');
    }
    const window = {
      from: formatInstant(windows.slot[now.from]! * windows.windowMs),
      to: formatInstant((windows.slot[now.to - 1]! + 1) * windows.windowMs),
      windows: now.to - now.from,
      epochs: windows.epochs.subarray(now.from, now.to).reduce((s, v) => s + v, 0),
    };
    return { data, series, judged: { displacement: d, window, noise } };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return { ...base, statement: { kind: 'not-statable', reason: error.problems[0]!.message } };
  }
}

export interface PreparedStation {
  readonly local: TopocentricSeries;
  readonly quality: QualityReport;
  readonly spacingMs: number;
  readonly windows: WindowSeries;
}

/** Axes, quality and window solutions: what a reference position and a displacement are both made from. */
export function prepare(task: Pick<StationTask, 'series' | 'frame' | 'settings'>): PreparedStation {
  const local = toTopocentricSeries(task.series, task.frame);
  const quality = judgeEpochs(local);
  const spacingMs = usualSpacingMs(local.timesMs) ?? task.settings.windowMs;
  return {
    local,
    quality,
    spacingMs,
    windows: windowSolutions(local, quality.flag, task.settings.windowMs, spacingMs),
  };
}

/** The windows of the last `statementMs` before the as-of time, on the grid of the windows. */
function presentWindows(windows: WindowSeries, asOfMs: number, statementMs: number): WindowRange {
  const end = Math.ceil(asOfMs / windows.windowMs) * windows.windowMs;
  return windowsWithin(windows, end - statementMs, end);
}

function observedDays(local: TopocentricSeries): number {
  return (local.timesMs.at(-1)! - local.timesMs[0]!) / dayMs;
}

function dataRecord(task: StationTask, { local, quality, spacingMs }: PreparedStation): DataRecord {
  const first = local.timesMs[0]!;
  const last = local.timesMs.at(-1)!;
  const distinct = new Set(local.timesMs).size;
  return {
    epochs: local.timesMs.length,
    first: formatInstant(first),
    last: formatInstant(last),
    completeness: Math.min(1, distinct / (Math.round((last - first) / spacingMs) + 1)),
    spacingMs,
    outliers: quality.outliers,
    conflicts: quality.conflicts,
    unconfirmed: quality.unconfirmed.map((u) => ({
      from: formatInstant(u.fromMs),
      to: formatInstant(u.toMs),
      epochs: u.epochs,
    })),
    late: task.asOfMs - last > 2 * task.processingIntervalMs,
  };
}

function stationSeries(
  local: TopocentricSeries,
  quality: QualityReport,
  windows: WindowSeries,
  bands?: ReturnType<typeof windowBands>,
): StationSeries {
  const mm = (values: Float64Array): Float64Array => values.map((v) => 1000 * v);
  const none = (): Float64Array => new Float64Array(windows.slot.length).fill(Number.NaN);
  return {
    epochs: {
      timesMs: local.timesMs,
      east_mm: mm(local.east),
      north_mm: mm(local.north),
      up_mm: mm(local.up),
      flag: quality.flag,
    },
    windows: {
      timesMs: windows.slot.map((s) => (s + 0.5) * windows.windowMs),
      east_mm: mm(windows.east),
      north_mm: mm(windows.north),
      up_mm: mm(windows.up),
      eastHalf_mm: bands?.east ?? none(),
      northHalf_mm: bands?.north ?? none(),
      upHalf_mm: bands?.up ?? none(),
    },
  };
}
