import type { TrackingRow } from '@stillmark/records';

const hourMs = 3_600_000;

const knownOf = ({ expected, above }: TrackingRow): number => (expected || 0) + (above || 0);

/** Parts of an hour may share the epoch at which one ends and the other begins. */
const overlap = (a: Span, b: Span): boolean =>
  Math.max(a.firstMs, b.firstMs) < Math.min(a.lastMs, b.lastMs) ||
  (a.firstMs === b.firstMs && a.lastMs === b.lastMs);

type Span = Pick<TrackingRow, 'firstMs' | 'lastMs'>;

/** What was read of one hour of a receiver at once. */
interface Reading {
  readonly hour: string;
  readonly firstMs: number;
  readonly lastMs: number;
  readonly epochs: number;
  /** By signal. */
  readonly rows: Map<string, TrackingRow>;
}

/**
 * Of hours that were delivered more than once what counts: the same epochs read with orbits rather than without; of readings that
 * overlap the one with more epochs, then the later one. Readings of parts of an hour that do not overlap are both kept.
 *
 * @param rows of any stations and sources, in any order
 * @returns in the order of stations and time
 */
export function chosenHours(rows: readonly TrackingRow[]): TrackingRow[] {
  const readings = new Map<string, Reading>();
  for (const row of rows) {
    const { firstMs, lastMs, epochs } = row;
    const hour = `${row.station} ${row.source} ${Math.floor(firstMs / hourMs)}`;
    const key = `${hour} ${firstMs} ${lastMs} ${epochs}`;
    let reading = readings.get(key);
    if (!reading) readings.set(key, (reading = { hour, firstMs, lastMs, epochs, rows: new Map() }));
    const known = reading.rows.get(row.signal);
    // Of the same epochs the reading that knew more orbits.
    if (!known || knownOf(row) > knownOf(known)) reading.rows.set(row.signal, row);
  }
  const taken = new Map<string, Reading[]>();
  const best = [...readings.values()].sort(
    (a, b) => b.epochs - a.epochs || b.lastMs - a.lastMs || a.firstMs - b.firstMs,
  );
  for (const reading of best) {
    const others = taken.get(reading.hour) ?? [];
    if (others.some((o) => overlap(o, reading))) continue;
    taken.set(reading.hour, [...others, reading]);
  }
  const order = (a: TrackingRow, b: TrackingRow): number =>
    a.station < b.station ? -1 : a.station > b.station ? 1 : a.firstMs - b.firstMs;
  return [...taken.values()]
    .flatMap((kept) => kept.flatMap(({ rows: own }) => [...own.values()]))
    .sort(order);
}
