import { studentP } from '@stillmark/estimation';
import { radians, type TopocentricFrame } from '@stillmark/geodesy';
import { ProblemError } from '@stillmark/problems';
import {
  dayMs,
  formatInstant,
  type AccelerationRecord,
  type DataRecord,
  type EpochSeries,
  type ReadinessRecord,
  type SiderealRecord,
  type Statement,
  type StatementSettings,
  type StationQuantity,
  type StationSeries,
  type TieRecord,
  type WaveRecord,
} from '@stillmark/records';
import { accelerationOf } from './acceleration.ts';
import type { StationNoise } from './noise.ts';
import { presentOf, type Present } from './present.ts';
import { judgeEpochs, type QualityReport } from './quality.ts';
import { readinessOf, type ReadinessTask } from './readiness.ts';
import { neededReferenceDays } from './reference.ts';
import { dailyWaves } from './response/daily-waves.ts';
import {
  stationResponse,
  type ResponseAnalysis,
  type ResponseSettings,
} from './response/station-response.ts';
import { forget, type Remember } from './remember.ts';
import { besideSeries, stationSeries } from './series.ts';
import { rememberedBands } from './settled.ts';
import type { KnownStep } from './series-model.ts';
import { siderealFilter, siderealGain } from './sidereal.ts';
import { horizontalTest, leastFreedom, type Judged } from './statements.ts';
import { tieRecords, withoutSteps, type Step } from './ties.ts';
import { trajectoryOf, trajectoryWindowMs, type Trajectory } from './trajectory.ts';
import {
  stationFigure,
  watchSeries,
  type WatchedFigure,
  type WatchedMeans,
  type WatchTask,
} from './triggers/evaluate.ts';
import { toTopocentricSeries, type TopocentricSeries } from './topocentric-series.ts';
import {
  firstWindows,
  spacingOf,
  windowSolutions,
  windowsWithin,
  type Spacing,
  type WindowSeries,
} from './windows.ts';

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
  readonly evidence?: Pick<ReadinessTask, 'constellations' | 'settle' | 'openBases' | 'tracked'>;
  readonly settings: StatementSettings;
  /** What may move the station by itself, and what of it is committed. */
  readonly response?: ResponseSettings & { readonly tides: boolean };
  /** What triggers watch of it. */
  readonly watch?: readonly StationWatch[];
  /** Azimuth of the structure's longitudinal axis, where it has one. */
  readonly longitudinalAzimuthDeg?: number;
  /** Azimuth of the y axis of the project's grid at the station in radians, where the project has one. */
  readonly gridNorth?: number;
  /** Memory of what was computed from the same inputs before. */
  readonly remember?: Remember;
  readonly asOfMs: number;
  readonly processingIntervalMs: number;
}

/** What a trigger watches of a station. */
export interface StationWatch extends WatchTask {
  readonly quantity: StationQuantity;
  readonly figures: 'raw' | 'less response';
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
  /** Present where its movement grows faster significantly. */
  readonly acceleration?: AccelerationRecord;
  /** What logs do to the station, or why that cannot be told. */
  readonly response?: ResponseAnalysis | { readonly reason: string };
  readonly waves?: readonly WaveRecord[];
  /** Of the means of the statements; absent where no reference position is committed. */
  readonly noise?: StationNoise;
  /** Means that triggers watch, by the names of those. */
  readonly watched?: WatchedMeans;
  /** Means over {@link trajectoryWindowMs}, for what is computed from several stations. */
  readonly daily?: WindowSeries;
  /** Means of the statements, in axes at the reference position. */
  readonly windows?: WindowSeries;
}

/** From the epochs of one station in one stream to what can be said of it, before stations are judged together. */
export function analyseStation(task: StationTask): StationAnalysis {
  if (task.series.timesMs.length === 0) return { ties: [], statement: { kind: 'no-data' } };
  const prepared = prepare(task);
  const { local, quality, spacing } = prepared;
  const daily = windowSolutions(local, quality.flag, trajectoryWindowMs, spacing);
  const { evidence, response: settings, remember = forget } = task;
  const knownSteps = task.knownSteps ?? [];
  // A day that is not over would lean to one side, and change with every hour.
  const { confidence } = task.settings;
  const days = wholeDays(daily, task.asOfMs + spacing.usualMs);
  const trajectory = remember('trajectory', [days, knownSteps, confidence], () =>
    trajectoryOf(days, knownSteps, confidence),
  );
  const figureOf = (quantity: StationQuantity): WatchedFigure =>
    stationFigure(quantity, longitudinalOf(task));
  const response =
    settings && stationResponse({ ...task, response: settings, knownSteps, figureOf }, prepared, days);
  const waves =
    settings && dailyWaves(shortWindows(prepared), settings.tides, task.settings.confidence, remember);
  const state = stateOf(task, prepared);
  const corrected = response && 'record' in response ? response.corrected : undefined;
  return {
    ...state,
    ...(state.series && corrected
      ? { series: besideSeries(state.series, 'Less', corrected.windows, longitudinalOf(task)) }
      : {}),
    ...(trajectory
      ? { trajectory: { ...trajectory, velocity: { ...trajectory.velocity, ...northOf(task) } } }
      : {}),
    ...(evidence
      ? { readiness: readinessOf(prepared, { ...evidence, ...periodOf(task), steps: task.steps, remember }) }
      : {}),
    ...(response ? { response } : {}),
    ...(waves ? { waves } : {}),
    ...watchedIn(task, prepared, response && 'record' in response ? response : undefined),
    daily,
    windows: prepared.windows,
  };
}

/** Means of days that are over at an instant. */
function wholeDays(daily: WindowSeries, untilMs: number): WindowSeries {
  const { slot, windowMs } = daily;
  const last = slot.length - 1;
  if (last < 0 || (slot[last]! + 1) * windowMs <= untilMs) return daily;
  return firstWindows(daily, last);
}

/** What triggers watch: raw figures here, those less the response as that has watched them; a statement never depends on it. */
function watchedIn(
  task: StationTask,
  { windows }: PreparedStation,
  response: ResponseAnalysis | undefined,
): Pick<StationAnalysis, 'watched'> {
  const raw = (task.watch ?? []).filter(({ figures }) => figures === 'raw');
  const less = response?.watched;
  if (raw.length === 0 || !task.reference) return less ? { watched: less } : {};
  try {
    const own = watchSeries(windows, { ...task, reference: task.reference }, raw, ({ quantity }) =>
      stationFigure(quantity, longitudinalOf(task)),
    );
    const evaluations = new Map([...own.evaluations, ...(less?.evaluations ?? [])]);
    return { watched: { ...own, evaluations } };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return less ? { watched: less } : {};
  }
}

/** Means short enough to show the waves of a day. */
function shortWindows({ local, quality, spacing }: PreparedStation): WindowSeries {
  const hour = 3_600_000;
  return windowSolutions(
    local,
    quality.flag,
    Math.max(hour, Math.ceil(spacing.usualMs / hour) * hour),
    spacing,
  );
}

function longitudinalOf({ longitudinalAzimuthDeg }: StationTask): number | undefined {
  return longitudinalAzimuthDeg === undefined ? undefined : radians(longitudinalAzimuthDeg);
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
  const { reference } = task;
  const longitudinal = longitudinalOf(task);
  const base = {
    data: dataRecord(task, prepared),
    ties: [],
    series: stationSeries({ local, quality, windows, longitudinal }),
  };
  if (!reference) {
    return {
      ...base,
      statement: {
        kind: 'establishing',
        observedDays: observedDays(prepared),
        neededDays: neededReferenceDays,
      },
    };
  }
  try {
    const { contrast, noise, judged } = presentOf({ ...task, reference }, windows);
    const { confidence } = task.settings;
    const { remember = forget } = task;
    const bands = rememberedBands(windows, contrast, noise, confidence, longitudinal, remember);
    return {
      noise,
      ...acceleratingIn(task, windows, { contrast, noise, judged }),
      data: base.data,
      ties: tieRecords(windows, contrast, noise, confidence),
      series: stationSeries({ local, quality, windows, longitudinal, bands, contrast }),
      ...(judged ? { judged: { ...judged, ...northOf(task) } } : { statement: { kind: 'no-data' } }),
    };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return { ...base, statement: { kind: 'not-statable', reason: error.problems[0]!.message } };
  }
}

/** The last span of the rate, where a rate is distinguishable by itself: in the direction in which it is clearest. */
function acceleratingIn(
  { settings, asOfMs }: StationTask,
  windows: WindowSeries,
  { contrast, noise, judged }: Pick<Present, 'contrast' | 'noise'> & { readonly judged: Judged | undefined },
): Pick<StationAnalysis, 'acceleration'> {
  const rate = judged?.rate?.movement;
  if (!rate) return {};
  const across = horizontalTest(rate).p;
  const upright =
    rate.upFreedom >= leastFreedom ? studentP(rate.up_mm / Math.sqrt(rate.uu), rate.upFreedom) : 1;
  if (Math.min(across, upright) > settings.familySignificance) return {};
  const end = Math.ceil(asOfMs / windows.windowMs) * windows.windowMs;
  const acceleration = accelerationOf({
    windows,
    contrast,
    noise,
    range: windowsWithin(windows, end - settings.rateMs, end),
    along: across <= upright ? Math.atan2(rate.east_mm, rate.north_mm) : 'up',
    confidence: settings.confidence,
  });
  return acceleration ? { acceleration } : {};
}

export interface PreparedStation {
  readonly local: TopocentricSeries;
  readonly quality: QualityReport;
  readonly spacing: Spacing;
  readonly windows: WindowSeries;
  readonly sidereal?: SiderealRecord;
}

/** Axes, quality and window solutions: what a reference position and a displacement are both made from. */
export function prepare(task: Pick<StationTask, 'series' | 'frame' | 'settings' | 'steps'>): PreparedStation {
  const raw = toTopocentricSeries(task.series, task.frame);
  const breaks = task.steps.map(({ atMs }) => atMs);
  const quality = judgeEpochs(raw, breaks);
  const spacing = spacingOf(raw.timesMs, task.settings.windowMs);
  const { windowMs, sidereal: filter } = task.settings;
  // Of whole days nothing that repeats each day is left to be taken off.
  const filtered = filter && windowMs < dayMs;
  const local = filtered ? siderealFilter(raw, quality.flag, filter, breaks) : raw;
  const windows = windowSolutions(local, quality.flag, task.settings.windowMs, spacing);
  return {
    local,
    quality,
    spacing,
    windows: withoutSteps(windows, task.steps),
    ...(filtered ? { sidereal: siderealGain(raw, local, quality.flag, windowMs, spacing, filter.days) } : {}),
  };
}

/** From the first epoch to the end of the time for which the newest one stands. */
function observedDays({ local: { timesMs }, spacing }: PreparedStation): number {
  const last = timesMs.at(-1)!;
  return (last - timesMs[0]! + spacing.at(last)) / dayMs;
}

function dataRecord(task: StationTask, { local, quality, spacing, sidereal }: PreparedStation): DataRecord {
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
    ...(sidereal ? { sidereal } : {}),
    late: task.asOfMs - last > 2 * task.processingIntervalMs,
  };
}
