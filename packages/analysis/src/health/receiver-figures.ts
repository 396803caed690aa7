import { median } from '@stillmark/estimation';
import {
  formatInstant,
  systemNames,
  type ConstellationRecord,
  type SignalRecord,
  type SystemLetter,
  type TrackingFigures,
  type TrackingRecord,
  type TrackingRow,
} from '@stillmark/records';

/** Half-open spans, milliseconds of UTC. */
export interface Spans {
  readonly recent: readonly [number, number];
  readonly before: readonly [number, number];
}

/** A satellite counts as one of the network's where it was tracked in so many hours. */
const fewestHours = 2;

/**
 * What the receiver of a station tracked of late, and before.
 *
 * @param rows of one source and station, each hour once
 * @param known satellites that the network tracked in the recent span, by constellation
 */
export function receiverFigures(
  rows: readonly TrackingRow[],
  { recent, before }: Spans,
  known: ReadonlyMap<string, ReadonlySet<string>>,
): TrackingRecord | undefined {
  const within = ([from, to]: readonly [number, number]): TrackingRow[] =>
    rows.filter(({ firstMs }) => firstMs >= from && firstMs < to);
  const [now, then] = [within(recent), within(before)];
  const last = rows.reduce((ms, r) => Math.max(ms, r.lastMs), Number.NEGATIVE_INFINITY);
  if (now.length === 0) return undefined;
  const letters = [...new Set(now.flatMap((r) => (r.signal === '' ? [] : [r.signal[0]!])))];
  const order = Object.keys(systemNames);
  return {
    source: rows[0]!.source,
    newest: formatInstant(last),
    recent: figuresOf(now),
    ...(then.length > 0 ? { before: figuresOf(then) } : {}),
    constellations: letters
      .sort((a, b) => order.indexOf(a) - order.indexOf(b))
      .map((letter) => constellationOf(letter, now, then, known.get(letter) ?? new Set())),
  };
}

function figuresOf(rows: readonly TrackingRow[]): TrackingFigures {
  const receiver = rows.filter((r) => r.signal === '');
  const epochs = sum(receiver, (r) => r.epochs);
  const known = receiver.filter((r) => !Number.isNaN(r.expected));
  const spaced = receiver.filter((r) => r.intervalMs > 0);
  const told = receiver.filter((r) => !Number.isNaN(r.positions));
  const diluted = receiver.filter((r) => !Number.isNaN(r.pdop));
  const slips = sum(receiver, (r) => r.slips);
  const tracked = sum(receiver, (r) => r.tracked);
  // Of sources without observations nothing is known of slips.
  const observes = rows.some((r) => !Number.isNaN(r.multipath)) || slips > 0;
  return {
    hours: receiver.length,
    satellites: epochs > 0 ? tracked / epochs : 0,
    ...share(
      'trackedShare',
      sum(known, (r) => r.above),
      sum(known, (r) => r.expected),
    ),
    ...share(
      'completeness',
      sum(spaced, (r) => r.epochs),
      // Where the spacing changes within an hour there are more than its usual one asks for.
      sum(spaced, (r) => Math.max(r.epochs, Math.round((r.lastMs - r.firstMs) / r.intervalMs) + 1)),
    ),
    ...share(
      'fixRate',
      sum(told, (r) => r.fixed),
      sum(told, (r) => r.positions),
    ),
    ...share(
      'pdop',
      sum(diluted, (r) => r.pdop * r.epochs),
      sum(diluted, (r) => r.epochs),
    ),
    ...(observes ? share('slips', 1000 * slips, tracked) : {}),
  };
}

function constellationOf(
  letter: string,
  now: readonly TrackingRow[],
  then: readonly TrackingRow[],
  known: ReadonlySet<string>,
): ConstellationRecord {
  const own = now.filter((r) => r.signal === letter);
  const seen = namesIn(own);
  const expected = own.filter((r) => !Number.isNaN(r.expected));
  const signals = [...new Set(now.map((r) => r.signal).filter((s) => s[0] === letter))].sort();
  return {
    system: systemNames[letter as SystemLetter],
    seen,
    missing: [...known].filter((satellite) => !seen.includes(satellite)).sort(),
    ...share(
      'trackedShare',
      sum(expected, (r) => r.above),
      sum(expected, (r) => r.expected),
    ),
    signals: signals.flatMap((signal): SignalRecord[] => {
      const of = (rows: readonly TrackingRow[]): TrackingRow[] => rows.filter((r) => r.signal === signal);
      const [rows, earlier] = [of(now), of(then)];
      const figures: SignalRecord = {
        signal: signal.slice(1),
        satellites: namesIn(rows).length,
        ...middle('cn0', rows, (r) => r.cn0),
        ...middle('cn0Before', earlier, (r) => r.cn0),
        ...middle('multipath_m', rows, (r) => r.multipath),
        ...middle('multipathBefore_m', earlier, (r) => r.multipath),
      };
      // The row of the constellation stands for signals that the receiver does not name.
      return signal.length === 1 && figures.cn0 === undefined ? [] : [figures];
    }),
  };
}

/** Satellites that the network tracked in a span, by constellation: in several hours, since a single one may be a mistake. */
export function satellitesOf(
  rows: readonly TrackingRow[],
  [from, to]: readonly [number, number],
): Map<string, Set<string>> {
  const hours = new Map<string, number>();
  for (const row of rows)
    if (row.signal.length === 1 && row.firstMs >= from && row.firstMs < to)
      for (const satellite of row.satellites.split(' '))
        if (satellite !== '') hours.set(satellite, (hours.get(satellite) ?? 0) + 1);
  const out = new Map<string, Set<string>>();
  for (const [satellite, count] of hours) {
    if (count < fewestHours) continue;
    const own = out.get(satellite[0]!);
    if (own) own.add(satellite);
    else out.set(satellite[0]!, new Set([satellite]));
  }
  return out;
}

function namesIn(rows: readonly TrackingRow[]): string[] {
  return [...new Set(rows.flatMap((r) => (r.satellites === '' ? [] : r.satellites.split(' '))))].sort();
}

function sum(rows: readonly TrackingRow[], of: (row: TrackingRow) => number): number {
  return rows.reduce((s, row) => s + of(row), 0);
}

function share<K extends string>(key: K, part: number, whole: number): Partial<Record<K, number>> {
  return whole > 0 ? ({ [key]: part / whole } as Partial<Record<K, number>>) : {};
}

/** Median over the hours in which it is known. */
function middle<K extends string>(
  key: K,
  rows: readonly TrackingRow[],
  of: (row: TrackingRow) => number,
): Partial<Record<K, number>> {
  const values = Float64Array.from(rows.map(of).filter((v) => !Number.isNaN(v)));
  return values.length > 0 ? ({ [key]: median(values) } as Partial<Record<K, number>>) : {};
}
