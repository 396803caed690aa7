import { studentP } from '@stillmark/estimation';
import { ProblemError } from '@stillmark/problems';
import {
  dayMs,
  formatInstant,
  type CheckRecord,
  type Constellation,
  type ReadinessRecord,
} from '@stillmark/records';
import type { Remember } from './remember.ts';
import { ReferenceContrast } from './contrast.ts';
import { movement } from './movement.ts';
import { noiseAboutLine } from './noise.ts';
import { epochFlag } from './quality.ts';
import { neededCompleteness, neededReferenceDays } from './reference.ts';
import type { PreparedStation } from './station.ts';
import { horizontalTest, rateUnitDays } from './statements.ts';
import type { Step } from './ties.ts';
import { windowsWithin, type WindowSeries } from './windows.ts';

/** Mean sidereal day, seconds (IERS). */
const siderealDay = 86_164.0905;

/**
 * Time after which the satellites of a constellation stand over the same places again, seconds: the ground tracks of nominal orbits
 * with their nodes carried by the flattening of the earth. GPS 1, GLONASS 8 (17 revolutions), Galileo 10 (17 revolutions), BeiDou in
 * medium orbits 7 sidereal days (13 revolutions). Agnew and Larson (2007), GPS Solutions 11, 71-76, for GPS; the others computed
 * from nominal orbits.
 */
export const repeatSeconds: Readonly<Record<Constellation, number>> = {
  GPS: 86_154.84,
  GLONASS: 689_249.46,
  Galileo: 861_579.23,
  BeiDou: 603_094.19,
  QZSS: 86_162.26,
};

/** Least share of the hours of a repeat cycle in which a position must stand (common practice, no source). */
const neededCycle = 0.9;
/** So long before the end the running mean must have come to rest, days. */
const restDays = 3;
/** A slope is no chance where so small a part of still stations show one (Baarda's tradition): sixty periods are looked at together. */
const driftSignificance = 0.001;

/** Letters of constellations in the names of satellites. */
const letters: Readonly<Record<Constellation, string>> = {
  GPS: 'G',
  GLONASS: 'R',
  Galileo: 'E',
  BeiDou: 'C',
  QZSS: 'J',
};

/** Satellites by the days (since 1970) on which they were tracked: by the receiver of a station, and by any of the network. */
export interface TrackedDays {
  readonly own: ReadonlyMap<string, readonly number[]>;
  readonly network: ReadonlyMap<string, readonly number[]>;
}

export interface ReadinessTask {
  readonly fromMs: number;
  readonly toMs: number;
  readonly constellations: readonly Constellation[];
  /** How far the running mean may still wander, metres. */
  readonly settle: { readonly horizontal: number; readonly up: number };
  /** Steps of this station that are no movement. */
  readonly steps: readonly Step[];
  /** Present where it is known what the receivers track. */
  readonly tracked?: TrackedDays;
  /** Of a monitoring station: other bases that the stream sees and of which no reference position is committed. */
  readonly openBases?: readonly string[];
  /** Memory of what was computed from the same inputs before. */
  readonly remember?: Remember | undefined;
}

/**
 * Whether a span of positions can serve as reference period: every piece of evidence with its figure, its limit and a verdict. What
 * time alone will mend is 'not yet', what it will not is 'fail'.
 */
export function readinessOf(prepared: PreparedStation, task: ReadinessTask): ReadinessRecord {
  const { fromMs, toMs } = task;
  const { windows, local, quality } = prepared;
  const range = windowsWithin(windows, fromMs, toMs);
  const n = range.to - range.from;
  const days = (toMs - fromMs) / dayMs;
  const expected = Math.max(0, Math.floor(toMs / windows.windowMs) - Math.ceil(fromMs / windows.windowMs));
  const share = expected === 0 ? 0 : n / expected;
  const times = Float64Array.from(
    local.timesMs.filter((t, i) => t >= fromMs && t < toMs && quality.flag[i] === epochFlag.used),
  );
  const young = days < neededReferenceDays;
  const verdict = (passed: boolean, timeHelps = young): CheckRecord['verdict'] =>
    passed ? 'pass' : timeHelps ? 'not yet' : 'fail';
  const hours = hoursObserved(times);
  const covered = hours.filter((count) => count > 0).length;
  const checks: CheckRecord[] = [
    { check: 'span', unit: 'd', value: days, limit: neededReferenceDays, verdict: verdict(!young) },
    {
      check: 'windows',
      unit: '%',
      value: 100 * share,
      limit: 100 * neededCompleteness,
      verdict: verdict(share >= neededCompleteness),
    },
    { check: 'hours', unit: 'h', value: covered, limit: 24, verdict: verdict(covered === 24) },
    ...task.constellations.map((constellation): CheckRecord => {
      const value = cycleShare(times, repeatSeconds[constellation]);
      const whole = 1000 * repeatSeconds[constellation] > toMs - fromMs;
      return {
        check: 'cycle',
        of: constellation,
        unit: '%',
        value: 100 * value,
        limit: 100 * neededCycle,
        verdict: verdict(value >= neededCycle, young || whole),
      };
    }),
  ];
  checks.push(
    ...task.constellations.flatMap((constellation) =>
      satellitesOf(constellation, task).map(({ seen, known }): CheckRecord => ({
        check: 'satellites',
        of: constellation,
        unit: '',
        value: seen,
        limit: known,
        verdict: verdict(seen >= known),
      })),
    ),
  );
  const running = runningMean(windows, range, fromMs);
  const settling = settlingOf(running, days);
  if (settling)
    for (const [of, value, limit] of [
      ['horizontal', settling.horizontal_mm, task.settle.horizontal],
      ['up', settling.up_mm, task.settle.up],
    ] as const)
      checks.push({
        check: 'settled',
        of,
        unit: 'mm',
        value,
        limit: 1000 * limit,
        verdict: verdict(value <= 1000 * limit, true),
      });
  else
    checks.push({ check: 'settled', unit: 'mm', limit: 1000 * task.settle.horizontal, verdict: 'not yet' });
  checks.push(driftOf(windows, range, task.remember));
  const inside = task.steps.filter(({ atMs }) => atMs > fromMs && atMs < toMs).length;
  checks.push({ check: 'steps', unit: '', value: inside, limit: 0, verdict: verdict(inside === 0, false) });

  const { openBases } = task;
  if (openBases)
    checks.push({
      check: 'bases',
      ...(openBases.length > 0 ? { of: openBases.join(', ') } : {}),
      unit: '',
      value: openBases.length,
      limit: 0,
      verdict: openBases.length === 0 ? 'pass' : 'not yet',
    });

  const ready = checks.every((c) => c.verdict === 'pass');
  const waits = !ready && checks.every((c) => c.verdict !== 'fail') && share >= neededCompleteness;
  // What takes longest: two weeks, or the longest cycle of what is tracked.
  const needed = Math.max(
    neededReferenceDays * dayMs,
    ...task.constellations.map((constellation) => 1000 * repeatSeconds[constellation]),
  );
  return {
    from: formatInstant(fromMs),
    to: formatInstant(toMs),
    ready,
    ...(waits && young
      ? { readyAt: formatInstant(Math.ceil((fromMs + needed) / 3_600_000) * 3_600_000) }
      : {}),
    checks,
    hours,
    running,
  };
}

/**
 * How many satellites of a constellation the receiver tracked in the period, of those that the network tracked on two days of it or more:
 * a satellite that one receiver saw on one day may have been a mistake. Nothing where nothing of the constellation was tracked.
 */
function satellitesOf(
  constellation: Constellation,
  { tracked, fromMs, toMs }: ReadinessTask,
): { seen: number; known: number }[] {
  if (!tracked) return [];
  const [first, last] = [Math.floor(fromMs / dayMs), Math.ceil(toMs / dayMs)];
  const within = (days: readonly number[] = []): number => days.filter((d) => d >= first && d < last).length;
  const known = [...tracked.network].flatMap(([satellite, days]) =>
    satellite.startsWith(letters[constellation]) && within(days) >= 2 ? [satellite] : [],
  );
  if (known.length === 0) return [];
  return [{ seen: known.filter((s) => within(tracked.own.get(s)) > 0).length, known: known.length }];
}

/** On how many sidereal days each of the 24 sidereal hours was observed; hours count from the first instant of 1970. */
function hoursObserved(times: Float64Array): number[] {
  const seen = Array.from({ length: 24 }, () => new Set<number>());
  for (const t of times) {
    const turns = t / 1000 / siderealDay;
    seen[Math.floor((turns % 1) * 24)]!.add(Math.floor(turns));
  }
  return seen.map((set) => set.size);
}

/** Share of the hours of a cycle in which at least one position stands, whenever it was. */
function cycleShare(times: Float64Array, cycle: number): number {
  const bins = new Uint8Array(Math.floor(cycle / 3600));
  for (const t of times)
    bins[Math.min(bins.length - 1, Math.floor(((t / 1000) % cycle) / (cycle / bins.length)))] = 1;
  return bins.reduce((sum, v) => sum + v, 0) / bins.length;
}

/** The mean up to the end of each day of a period, less the mean of the whole. */
function runningMean(
  { windowMs, slot, east, north, up }: WindowSeries,
  { from, to }: { readonly from: number; readonly to: number },
  fromMs: number,
): ReadinessRecord['running'] {
  const out = { day: [] as number[], horizontal_mm: [] as number[], up_mm: [] as number[] };
  if (to === from) return out;
  const columns = [east, north, up];
  const mean = (values: Float64Array): number =>
    values.subarray(from, to).reduce((s, v) => s + (v - values[from]!), 0) / (to - from);
  const last = columns.map(mean) as [number, number, number];
  const sums: [number, number, number] = [0, 0, 0];
  for (let i = from; i < to; i++) {
    columns.forEach((values, k) => (sums[k]! += values[i]! - values[from]!));
    const day = Math.ceil(((slot[i]! + 1) * windowMs - fromMs) / dayMs);
    const next =
      i + 1 < to ? Math.ceil(((slot[i + 1]! + 1) * windowMs - fromMs) / dayMs) : Number.POSITIVE_INFINITY;
    if (next === day) continue;
    const [e, n, u] = sums.map((sum, k) => sum / (i + 1 - from) - last[k]!) as [number, number, number];
    out.day.push(day);
    out.horizontal_mm.push(1000 * Math.hypot(e, n));
    out.up_mm.push(1000 * u);
  }
  return out;
}

/** How far the running mean was from the final one at most over the last days of a period. */
function settlingOf(
  running: ReadinessRecord['running'],
  days: number,
): { horizontal_mm: number; up_mm: number } | undefined {
  const { day, horizontal_mm, up_mm } = running;
  if (day.length === 0 || days < 2 * restDays) return undefined;
  const late = day.flatMap((d, i) => (d >= days - restDays ? [i] : []));
  if (late.length === 0) return undefined;
  return {
    horizontal_mm: Math.max(...late.map((i) => horizontal_mm[i]!)),
    up_mm: Math.max(...late.map((i) => Math.abs(up_mm[i]!))),
  };
}

/** The slope of the period against its own noise, learnt about a line. */
function driftOf(
  windows: WindowSeries,
  range: { readonly from: number; readonly to: number },
  remember: Remember | undefined,
): CheckRecord {
  const none: CheckRecord = { check: 'drift', unit: 'mm in 30 d', limit: 0, verdict: 'not yet' };
  if (range.to - range.from < 12) return none;
  try {
    const contrast = new ReferenceContrast(windows, range);
    const m = movement(
      windows,
      contrast,
      noiseAboutLine(windows, contrast, remember),
      contrast.slope(range),
      1000 * rateUnitDays,
    );
    const p = Math.min(horizontalTest(m).p, studentP(m.up_mm / Math.sqrt(m.uu), m.upFreedom));
    const value = Math.hypot(m.east_mm, m.north_mm, m.up_mm);
    return {
      check: 'drift',
      unit: 'mm in 30 d',
      value,
      limit: 0,
      p,
      verdict: 2 * p >= driftSignificance ? 'pass' : 'fail',
    };
  } catch (error) {
    if (error instanceof ProblemError) return none;
    throw error;
  }
}
