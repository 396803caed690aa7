import { radians, type TopocentricFrame } from '@stillmark/geodesy';
import { fail, ProblemError } from '@stillmark/problems';
import {
  dayMs,
  formatInstant,
  type DataRecord,
  type EpochSeries,
  type ReadinessRecord,
  type Span,
  type Statement,
  type StatementSettings,
  type StationSeries,
  type TieRecord,
} from '@stillmark/records';
import { ReferenceContrast, type WindowRange } from './contrast.ts';
import { displacement, movement, windowBands } from './movement.ts';
import { rateNoise, referenceNoise } from './noise.ts';
import { judgeEpochs, type QualityReport } from './quality.ts';
import { readinessOf, type ReadinessTask } from './readiness.ts';
import { neededReferenceDays } from './reference.ts';
import { stationSeries } from './series.ts';
import { leastFreedom, rateUnitDays, type Judged } from './statements.ts';
import { tieRecords, tieSteps, withoutSteps, type Step } from './ties.ts';
import { trajectoryOf, trajectoryWindowMs, type KnownStep, type Trajectory } from './trajectory.ts';
import { toTopocentricSeries, type TopocentricSeries } from './topocentric-series.ts';
import { spacingOf, windowSolutions, windowsWithin, type Spacing, type WindowSeries } from './windows.ts';

export interface StationTask {
  /** All epochs up to the as-of time. */
  readonly series: EpochSeries;
  /** Axes at the committed reference position, or near the station until one is committed. */
  readonly frame: TopocentricFrame;
  readonly reference?: { readonly fromMs: number; readonly toMs: number };
  /** Steps of this station in this stream that are no movement. */
  readonly steps: readonly Step[];
  /** Those and the structural ones: all that a trajectory has to step over. */
  readonly knownSteps?: readonly KnownStep[];
  /** What a reference period must show. */
  readonly evidence?: Pick<ReadinessTask, 'constellations' | 'settle'>;
  readonly settings: StatementSettings;
  /** Azimuth of the structure's longitudinal axis, where it has one. */
  readonly longitudinalAzimuthDeg?: number;
  /** Azimuth of the y axis of the project's grid at the station in radians, where the project has one. */
  readonly gridNorth?: number;
  readonly asOfMs: number;
  readonly processingIntervalMs: number;
}

export interface StationAnalysis {
  readonly data?: DataRecord;
  readonly series?: StationSeries;
  readonly ties: readonly TieRecord[];
  /** Present where a displacement can be judged; else `statement` says why not. */
  readonly judged?: Judged;
  readonly statement?: Exclude<Statement, { kind: 'displacement' }>;
  readonly readiness?: ReadinessRecord;
  /** Present where the series is long enough. */
  readonly trajectory?: Trajectory;
}

/** From the epochs of one station in one stream to what can be said of it, before stations are judged together. */
export function analyseStation(task: StationTask): StationAnalysis {
  if (task.series.timesMs.length === 0) return { ties: [], statement: { kind: 'no-data' } };
  const prepared = prepare(task);
  const { local, quality, spacing } = prepared;
  const daily = windowSolutions(local, quality.flag, trajectoryWindowMs, spacing);
  const trajectory = trajectoryOf(daily, task.knownSteps ?? [], task.settings.confidence);
  const { evidence } = task;
  return {
    ...stateOf(task, prepared),
    ...(trajectory
      ? { trajectory: { ...trajectory, velocity: { ...trajectory.velocity, ...northOf(task) } } }
      : {}),
    ...(evidence
      ? { readiness: readinessOf(prepared, { ...evidence, ...periodOf(task), steps: task.steps }) }
      : {}),
  };
}

function northOf({ gridNorth }: StationTask): { gridNorth?: number } {
  return gridNorth === undefined ? {} : { gridNorth };
}

/** Where nothing is committed, the newest weeks are looked at: what a person would commit today. */
const newestWeeksMs = 28 * dayMs;

function periodOf({ reference, series, steps, asOfMs }: StationTask): { fromMs: number; toMs: number } {
  if (reference) return reference;
  const first = series.timesMs[0]!;
  const lastStep = Math.max(...steps.map(({ atMs }) => atMs).filter((ms) => ms < asOfMs), first);
  return { fromMs: Math.max(lastStep, asOfMs - newestWeeksMs), toMs: asOfMs };
}

function stateOf(task: StationTask, prepared: PreparedStation): StationAnalysis {
  const { windows, local, quality } = prepared;
  const data = dataRecord(task, prepared);
  const longitudinal =
    task.longitudinalAzimuthDeg === undefined ? undefined : radians(task.longitudinalAzimuthDeg);
  const base = { data, ties: [], series: stationSeries({ local, quality, windows, longitudinal }) };
  if (!task.reference) {
    return {
      ...base,
      statement: {
        kind: 'establishing',
        observedDays: observedDays(prepared),
        neededDays: neededReferenceDays,
      },
    };
  }

  const reference = windowsWithin(windows, task.reference.fromMs, task.reference.toMs);
  const now = presentWindows(windows, task.asOfMs, task.settings.statementMs);
  try {
    if (reference.to - reference.from === 0)
      fail('ESTIMATION_INPUT', 'the reference period holds no window solution');
    const contrast = new ReferenceContrast(windows, reference, tieSteps(windows, task.steps, reference));
    const noise = referenceNoise(windows, contrast);
    if (noise.eastNorth ** 2 > 1 - 1e-9) fail('ESTIMATION_INPUT', 'east and north are copies of each other');
    const { confidence } = task.settings;
    const bands = windowBands(contrast, noise, confidence, longitudinal);
    const stated = {
      data,
      ties: tieRecords(windows, contrast, noise, confidence),
      series: stationSeries({ local, quality, windows, longitudinal, bands, contrast }),
    };
    if (now.to === now.from) return { ...stated, statement: { kind: 'no-data' } };
    const d = displacement(windows, contrast, noise, now);
    if (Math.min(d.horizontalFreedom, d.upFreedom) < leastFreedom) {
      fail('ESTIMATION_INPUT', 'the reference period is too short to know the noise');
    }
    const window = {
      ...spanOf(windows, now),
      windows: now.to - now.from,
      epochs: windows.epochs.subarray(now.from, now.to).reduce((s, v) => s + v, 0),
    };
    const rate = rateOf(task, windows, contrast);
    return {
      ...stated,
      judged: {
        displacement: d,
        window,
        noise,
        ...(rate ? { rate } : {}),
        ...northOf(task),
      },
    };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return { ...base, statement: { kind: 'not-statable', reason: error.problems[0]!.message } };
  }
}

export interface PreparedStation {
  readonly local: TopocentricSeries;
  readonly quality: QualityReport;
  readonly spacing: Spacing;
  readonly windows: WindowSeries;
}

/** Axes, quality and window solutions: what a reference position and a displacement are both made from. */
export function prepare(task: Pick<StationTask, 'series' | 'frame' | 'settings' | 'steps'>): PreparedStation {
  const local = toTopocentricSeries(task.series, task.frame);
  const quality = judgeEpochs(
    local,
    task.steps.map(({ atMs }) => atMs),
  );
  const spacing = spacingOf(local.timesMs, task.settings.windowMs);
  const windows = windowSolutions(local, quality.flag, task.settings.windowMs, spacing);
  return { local, quality, spacing, windows: withoutSteps(windows, task.steps) };
}

/** The windows of the last `statementMs` before the as-of time, on the grid of the windows. */
function presentWindows(windows: WindowSeries, asOfMs: number, statementMs: number): WindowRange {
  const end = Math.ceil(asOfMs / windows.windowMs) * windows.windowMs;
  return windowsWithin(windows, end - statementMs, end);
}

/** Least share of the windows of a span that must be there for a rate over it (common practice, no source). */
const leastRateShare = 0.7;

/** The slope of the last span, where enough of it lies after the reference period and the noise is known well enough. */
function rateOf(
  { settings, asOfMs }: StationTask,
  windows: WindowSeries,
  contrast: ReferenceContrast,
): Judged['rate'] {
  const range = presentWindows(windows, asOfMs, settings.rateMs);
  const n = range.to - range.from;
  if (range.from < contrast.reference.to || n < leastRateShare * (settings.rateMs / windows.windowMs))
    return undefined;
  const weights = contrast.tied(contrast.slope(range));
  const rate = movement(windows, contrast, rateNoise(windows, contrast, range), weights, 1000 * rateUnitDays);
  if (rate.horizontalFreedom < leastFreedom) return undefined;
  return { movement: rate, span: spanOf(windows, range) };
}

function spanOf(windows: WindowSeries, { from, to }: WindowRange): Span {
  return {
    from: formatInstant(windows.slot[from]! * windows.windowMs),
    to: formatInstant((windows.slot[to - 1]! + 1) * windows.windowMs),
  };
}

/** From the first epoch to the end of the time for which the newest one stands. */
function observedDays({ local: { timesMs }, spacing }: PreparedStation): number {
  const last = timesMs.at(-1)!;
  return (last - timesMs[0]! + spacing.at(last)) / dayMs;
}

function dataRecord(task: StationTask, { local, quality, spacing }: PreparedStation): DataRecord {
  const times = local.timesMs;
  const [first, last] = [times[0]!, times.at(-1)!];
  let distinct = 1;
  let expected = 1;
  for (let i = 1; i < times.length; i++) {
    const difference = times[i]! - times[i - 1]!;
    if (difference === 0) continue;
    distinct++;
    expected += Math.max(1, Math.round(difference / spacing.at(times[i]!)));
  }
  // What is missing at the end is missing too.
  expected += Math.max(0, Math.round((task.asOfMs - last) / spacing.at(last)));
  return {
    epochs: times.length,
    first: formatInstant(first),
    last: formatInstant(last),
    completeness: distinct / expected,
    spacingMs: spacing.usualMs,
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
