import { madToSigma, median } from '@stillmark/estimation';
import {
  dayMs,
  formatInstant,
  type Evidence,
  type OutageRecord,
  type ReadingSeries,
  type SuspicionRecord,
  type SupplyRecord,
  type TrackingRow,
} from '@stillmark/records';
import type { Spans } from './receiver-figures.ts';

/** What may be looked at when something about a receiver has changed. */
export interface SuspicionTask {
  /** Each hour once. */
  readonly rows: readonly TrackingRow[];
  readonly spans: Spans;
  /** Means of up of a station, millimetres. */
  readonly up: ReadonlyMap<string, { readonly timesMs: Float64Array; readonly up_mm: Float64Array }>;
  readonly temperature?: { readonly sensor: string; readonly unit: string; readonly readings: ReadingSeries };
  readonly supplies: readonly SupplyRecord[];
  readonly outages: readonly OutageRecord[];
  readonly asOfMs: number;
}

/** Least drop of the signal strength that is looked at, dB; receivers differ by less from day to day (common practice, no source). */
const leastDrop = 2;
/** So much larger multipath is a change, and so many robust standard deviations of days. */
const leastRatio = 1.3;
const sigmas = 4;
/** Degrees Celsius: below this, snow and ice may lie on an antenna. */
const freezing = 1;
/** Days that a change of multipath must last; of signal strength one is enough. */
const lastingDays = 3;
/** A battery that is cut off within this is failing. */
const soonMs = 14 * dayMs;

/** What may be wrong, each with the figures that speak for it. Nothing here is sure: somebody has to look. */
export function suspicionsOf(task: SuspicionTask): SuspicionRecord[] {
  const receivers = new Map<string, TrackingRow[]>();
  for (const row of task.rows) {
    const key = `${row.station} ${row.source}`;
    const own = receivers.get(key);
    if (own) own.push(row);
    else receivers.set(key, [row]);
  }
  const weak = [...receivers.values()].flatMap((rows) => weakness(rows, task));
  return [
    ...weak.map((w) => signalSuspicion(w, weak, task)),
    ...[...receivers.values()].flatMap((rows) => multipathSuspicions(rows, task)),
    ...powerSuspicions(task),
  ].sort((a, b) => (a.since > b.since ? -1 : a.since < b.since ? 1 : a.of < b.of ? -1 : 1));
}

/** The median of something of each day of a receiver, of its signals each against its own median before. */
interface Days {
  readonly day: number[];
  readonly value: number[];
}

/** Days at the end of the data on which something was changed, and by how much; undefined where it was not on the last. */
interface Change {
  readonly sinceMs: number;
  readonly size: number;
}

function daysOf(rows: readonly TrackingRow[], anomaly: (row: TrackingRow) => number): Days {
  const byDay = new Map<number, number[]>();
  for (const row of rows) {
    const value = anomaly(row);
    if (Number.isNaN(value)) continue;
    const day = Math.floor(row.firstMs / dayMs);
    const own = byDay.get(day);
    if (own) own.push(value);
    else byDay.set(day, [value]);
  }
  const day = [...byDay.keys()].sort((a, b) => a - b);
  return { day, value: day.map((d) => median(Float64Array.from(byDay.get(d)!))) };
}

/** Days at the begin of the span before that say what is usual: what changed later must not become it. */
const usualDays = 14;

/** Until when days say what is usual. */
const usualUntil = ({ before }: Spans): number => Math.min(before[1], before[0] + usualDays * dayMs);

/** Looks at the last days against the usual ones: changed by more than a least size, and than those scatter. */
function changeAtEnd({ day, value }: Days, spans: Spans, least: number): Change | undefined {
  const until = usualUntil(spans);
  const usual = value.filter((_, i) => day[i]! * dayMs >= spans.before[0] && day[i]! * dayMs < until);
  if (usual.length < 7) return undefined;
  const centre = median(Float64Array.from(usual));
  const scatter = madToSigma * median(Float64Array.from(usual.map((v) => Math.abs(v - centre))));
  const limit = Math.max(least, sigmas * scatter);
  let first = day.length;
  while (first > 0 && day[first - 1]! * dayMs >= until && value[first - 1]! - centre >= limit) first--;
  // What has not lasted to the present is over.
  if (first === day.length || day.at(-1)! * dayMs < spans.recent[0]) return undefined;
  return { sinceMs: day[first]! * dayMs, size: median(Float64Array.from(value.slice(first))) - centre };
}

/** Medians before of each signal, by which its hours are set in relation. */
function usualOf(
  rows: readonly TrackingRow[],
  spans: Spans,
  of: (row: TrackingRow) => number,
): Map<string, number> {
  const values = new Map<string, number[]>();
  for (const row of rows) {
    const value = of(row);
    if (Number.isNaN(value) || row.firstMs < spans.before[0] || row.firstMs >= usualUntil(spans)) continue;
    const own = values.get(row.signal);
    if (own) own.push(value);
    else values.set(row.signal, [value]);
  }
  return new Map([...values].map(([signal, own]) => [signal, median(Float64Array.from(own))]));
}

interface Weakness extends Change {
  readonly station: string;
  readonly rows: readonly TrackingRow[];
}

function weakness(rows: readonly TrackingRow[], { spans }: SuspicionTask): Weakness[] {
  const usual = usualOf(rows, spans, (r) => r.cn0);
  const days = daysOf(rows, (r) => (usual.get(r.signal) ?? Number.NaN) - r.cn0);
  const change = changeAtEnd(days, spans, leastDrop);
  return change ? [{ ...change, station: rows[0]!.station, rows }] : [];
}

/** Weak signals with frost or an antenna that seems to have risen or sunk: something lies on it. Without: a cable, or interference. */
function signalSuspicion(weak: Weakness, all: readonly Weakness[], task: SuspicionTask): SuspicionRecord {
  const { station, sinceMs, size } = weak;
  const evidence: Evidence[] = [{ kind: 'strength', drop_dB: size }];
  const frost = frostSince(task, sinceMs);
  if (frost) evidence.push(frost);
  const up = upSince(task, station, sinceMs);
  if (up) evidence.push(up);
  const fewer = satellitesSince(weak, task.spans);
  if (fewer) evidence.push(fewer);
  const others = [
    ...new Set(
      all.flatMap((w) =>
        w.station !== station && Math.abs(w.sinceMs - sinceMs) <= dayMs ? [w.station] : [],
      ),
    ),
  ];
  if (others.length > 0) evidence.push({ kind: 'together', stations: others.sort() });
  return {
    kind: up !== undefined || (frost !== undefined && others.length > 0) ? 'obscured' : 'signal',
    of: station,
    since: formatInstant(sinceMs),
    evidence,
  };
}

function frostSince({ temperature, asOfMs }: SuspicionTask, sinceMs: number): Evidence | undefined {
  if (!temperature) return undefined;
  const { timesMs, values } = temperature.readings;
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < timesMs.length; i++)
    if (timesMs[i]! >= sinceMs - dayMs && timesMs[i]! <= asOfMs) least = Math.min(least, values[i]!);
  return least <= freezing
    ? { kind: 'freezing', least, unit: temperature.unit, sensor: temperature.sensor }
    : undefined;
}

/** The mean of up since then, against the two weeks before and the scatter of means in them. */
function upSince({ up }: SuspicionTask, station: string, sinceMs: number): Evidence | undefined {
  const series = up.get(station);
  if (!series) return undefined;
  const pick = (from: number, to: number): Float64Array =>
    series.up_mm.filter((v, i) => series.timesMs[i]! >= from && series.timesMs[i]! < to && !Number.isNaN(v));
  const [before, now] = [pick(sinceMs - 14 * dayMs, sinceMs), pick(sinceMs, Number.POSITIVE_INFINITY)];
  if (before.length < 10 || now.length === 0) return undefined;
  const centre = median(before);
  const limit = sigmas * madToSigma * median(before.map((v) => Math.abs(v - centre)));
  const off = median(now) - centre;
  return Math.abs(off) > limit ? { kind: 'up', off_mm: off, limit_mm: limit } : undefined;
}

function satellitesSince({ rows, sinceMs }: Weakness, { before }: Spans): Evidence | undefined {
  const mean = (from: number, to: number): number => {
    const own = rows.filter((r) => r.signal === '' && r.firstMs >= from && r.firstMs < to);
    return own.reduce((s, r) => s + r.tracked, 0) / own.reduce((s, r) => s + r.epochs, 0);
  };
  const [then, now] = [mean(...before), mean(sinceMs, Number.POSITIVE_INFINITY)];
  return now < 0.9 * then ? { kind: 'satellites', before: then, now } : undefined;
}

/** Multipath that is larger than before for days: something stands near the antenna that did not. The clearest signal is told. */
function multipathSuspicions(rows: readonly TrackingRow[], { spans }: SuspicionTask): SuspicionRecord[] {
  const usual = usualOf(rows, spans, (r) => r.multipath);
  let best: { record: SuspicionRecord; ratio: number } | undefined;
  for (const [signal, before] of usual) {
    const own = rows.filter((r) => r.signal === signal);
    const days = daysOf(own, (r) => r.multipath / before);
    const change = changeAtEnd(days, spans, leastRatio - 1);
    if (!change || days.day.at(-1)! * dayMs - change.sinceMs < (lastingDays - 1) * dayMs) continue;
    const ratio = 1 + change.size;
    if (best && ratio <= best.ratio) continue;
    const evidence: Evidence = { kind: 'multipath', signal, before_m: before, now_m: before * ratio };
    best = {
      ratio,
      record: {
        kind: 'multipath',
        of: own[0]!.station,
        since: formatInstant(change.sinceMs),
        evidence: [evidence],
      },
    };
  }
  return best ? [best.record] : [];
}

/** Batteries that will be cut off soon, and what fails night after night. */
function powerSuspicions({ supplies, outages, asOfMs }: SuspicionTask): SuspicionRecord[] {
  const found = new Map<string, { since: string; evidence: Evidence[] }>();
  const add = (of: string, since: string, evidence: Evidence): void => {
    const own = found.get(of);
    if (!own) found.set(of, { since, evidence: [evidence] });
    else {
      own.since = own.since < since ? own.since : since;
      own.evidence.push(evidence);
    }
  };
  for (const { kind, of, sensor, reached, newest, passed } of supplies)
    if (
      kind === 'battery' &&
      newest &&
      (passed === true || (reached && Date.parse(reached.earliest) - asOfMs <= soonMs))
    )
      add(of, newest.at, {
        kind: 'supply',
        sensor,
        ...(reached ? { reached: reached.earliest } : {}),
      });
  // A processing that fails at night is no power.
  const causes = new Map<string, OutageRecord[]>();
  for (const outage of outages) {
    const { kind, name } = outage.cause;
    if (Date.parse(outage.from) <= asOfMs - soonMs || (kind !== 'station' && kind !== 'shared')) continue;
    causes.set(name, [...(causes.get(name) ?? []), outage]);
  }
  for (const [name, own] of causes) {
    const nights = nightly(own);
    if (nights) add(name, own.at(-1)!.from, nights);
  }
  return [...found].map(([of, { since, evidence }]) => ({ kind: 'power', of, since, evidence }));
}

/** Three outages or more on different days that all begin within six hours of the day, and last less than fourteen. */
function nightly(outages: readonly OutageRecord[]): Evidence | undefined {
  const short = outages.filter(
    ({ from, to }) => to !== undefined && Date.parse(to) - Date.parse(from) < 14 * 3_600_000,
  );
  const days = new Set(short.map(({ from }) => from.slice(0, 10)));
  if (days.size < 3) return undefined;
  const hours = short.map(({ from }) => (Date.parse(from) % dayMs) / 3_600_000);
  for (const first of hours) {
    const late = Math.max(...hours.map((h) => (h - first + 24) % 24));
    if (late > 6) continue;
    const text = (h: number): string => {
      const minutes = Math.round((h % 24) * 60) % 1440;
      return `${String(Math.floor(minutes / 60)).padStart(2, '0')}:${String(minutes % 60).padStart(2, '0')}`;
    };
    return { kind: 'nights', outages: short.length, from: text(first), to: text(first + late) };
  }
  return undefined;
}
