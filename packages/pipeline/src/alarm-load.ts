import {
  assumedNoise,
  forget,
  recommend,
  sharedVariance,
  simulatedMonths,
  simulateLoad,
  type LoadStation,
  type LoadTask,
  type NamedSetting,
  type Remember,
} from '@stillmark/analysis';
import { radians } from '@stillmark/geodesy';
import { watchedBy, type Project, type Trigger } from '@stillmark/project';
import { dayMs, type AlarmLoadRecord } from '@stillmark/records';
import type { Analysed } from './judge.ts';
import { periodOf, primaryStream, settingsOf } from './project-settings.ts';

/** So many runs of a year. */
const runs = 64;
/** Any: the same noise is tried on every project, so that a snapshot is the same each time. */
const seed = 20_260_101;
/** Of a reference period that is not there yet. */
const usualReferenceDays = 28;

/** What candidates of alarms cost and find, from the noise of each monitoring station in the stream in which it is told. */
export function alarmLoadOf(
  project: Project,
  analysed: readonly Analysed[],
  asOfMs: number,
  remember: Remember = forget,
): AlarmLoadRecord[] {
  const monitoring = project.stations.filter(({ role }) => role === 'monitoring');
  const own = monitoring.map((station) => ({
    station,
    found: analysed.find(
      ({ view }) => view.station === station && view.stream === primaryStream(project, station),
    ),
  }));
  const settings = settingsOf(project);
  const assumed = project.assumedNoise && assumedNoise(project.assumedNoise, settings.windowMs);
  const stations = own.flatMap(({ station: { id }, found }): (LoadStation & { measured: boolean })[] => {
    const noise = found?.analysis.noise;
    if (noise) return [{ id, noise: noise.components, eastNorth: noise.eastNorth, measured: true }];
    return assumed ? [{ id, noise: assumed, eastNorth: 0, measured: false }] : [];
  });
  const committed = own.flatMap(({ found }) => {
    const { commitment } = found?.view ?? {};
    return commitment && found?.analysis.windows
      ? [
          {
            windows: found.analysis.windows,
            reference: periodOf(commitment),
          },
        ]
      : [];
  });
  const shared = sharedVariance(committed);
  const days = committed
    .map(({ reference: { fromMs, toMs } }) => (toMs - fromMs) / dayMs)
    .toSorted((a, b) => a - b);
  const referenceDays = Math.round(days[Math.floor(days.length / 2)] ?? usualReferenceDays);
  return project.alarmLoad.map((question): AlarmLoadRecord => {
    const { quantity, side, step, ramp, falseAlarms } = question;
    const candidates = candidatesOf(project, question, asOfMs);
    const task: LoadTask = {
      quantity,
      side,
      ...(project.axes ? { longitudinal: radians(project.axes.longitudinalAzimuth) } : {}),
      stations,
      shared,
      windowMs: settings.windowMs,
      referenceMs: referenceDays * dayMs,
      confidence: settings.confidence,
      candidates,
      ...(step ? { step: 1000 * step.size } : {}),
      ...(ramp ? { ramp: ramp.rate } : {}),
      runs,
      seed,
    };
    const requirement = {
      falseAlarms,
      ...(step ? { step: { size_mm: 1000 * step.size, withinMs: step.within } } : {}),
      ...(ramp ? { ramp: { mm_day: ramp.rate, withinMs: ramp.within } } : {}),
    };
    return {
      quantity,
      side,
      measured: stations.filter(({ measured }) => measured).map(({ id }) => id),
      assumed: stations.filter(({ measured }) => !measured).map(({ id }) => id),
      shared,
      referenceDays,
      left: monitoring.map(({ id }) => id).filter((id) => !stations.some((s) => s.id === id)),
      months: simulatedMonths(task),
      requirement,
      ...(stations.length > 0
        ? recommend(
            candidates,
            remember('alarm load', [task], () => simulateLoad(task)),
            requirement,
          )
        : { candidates: [] }),
    };
  });
}

/** All combinations, and the levels of triggers of the same quantity as they are set. */
function candidatesOf(
  project: Project,
  question: Project['alarmLoad'][number],
  asOfMs: number,
): NamedSetting[] {
  const { windows, levels, persistence, basis, quantity, side } = question;
  const tried = windows.flatMap((windowMs) =>
    levels.flatMap((level) =>
      persistence.flatMap((p) =>
        basis.map((b): NamedSetting => ({
          windowMs,
          level_mm: 1000 * level,
          persistence: p,
          basis: b,
          release: usualRelease,
        })),
      ),
    ),
  );
  const monitoring = project.stations.filter(({ role }) => role === 'monitoring').length;
  // As they are simulated here: movements of all monitoring stations, as they are, now.
  const isOfKind = (trigger: Trigger): boolean =>
    trigger.quantity === quantity &&
    trigger.side === side &&
    trigger.rateOver === undefined &&
    trigger.figures === 'raw' &&
    (trigger.to ?? Number.POSITIVE_INFINITY) > asOfMs &&
    watchedBy(project, trigger).length === monitoring;
  const set = project.triggers.filter(isOfKind).flatMap((trigger) =>
    trigger.levels.map((level): NamedSetting => ({
      windowMs: trigger.window,
      level_mm: level.at.value,
      persistence: trigger.persistence,
      basis: trigger.basis,
      release: trigger.release,
      trigger: `${trigger.name}, ${level.name}`,
    })),
  );
  return [...tried, ...set];
}

const usualRelease = 0.8;
