import type { Environment } from './environment.ts';

/**
 * What the generator plants in the Plovermouth series. Tests compare with it; no computation reads it.
 */
export const truth = {
  from: '2026-09-14T00:00:00Z',
  to: '2026-11-23T00:00:00Z',
  /** Time between positions, and between readings of the logs, minutes. */
  everyMinutes: 10,
  /** The pier of the east tower settles, millimetres a day; the deck that hangs from it follows with these shares. */
  settlement: {
    from: '2026-10-29T00:00:00Z',
    aDay: 0.19,
    shares: { T1: 1, Q1: 0.75, M1: 0.5, Q2: 0.25 },
  },
  /** The bearing of the west abutment sticks: the end of the deck stays where it is along the bridge. */
  stuck: { station: 'J2', from: '2026-11-07T00:00:00Z' },
  /** What hangs on these sends nothing in these times. */
  outages: [
    {
      of: 'router of the deck',
      stations: ['Q1', 'M1', 'Q2', 'J2'],
      from: '2026-10-21T11:00:00Z',
      to: '2026-10-22T00:30:00Z',
    },
    {
      of: 'host of the processing',
      stations: ['B1', 'B2', 'B3', 'A1', 'T1', 'Q1', 'M1', 'Q2', 'T2', 'J2', 'A2'],
      from: '2026-10-31T16:00:00Z',
      to: '2026-10-31T22:00:00Z',
    },
    {
      of: 'router of the deck',
      stations: ['Q1', 'M1', 'Q2', 'J2'],
      from: '2026-11-16T15:00:00Z',
      to: '2026-11-16T23:30:00Z',
    },
  ],
  /** Voltage of the battery of the towers: from this to that over the last weeks. */
  battery: { days: 40, from: 12.8, to: 12.75 },
  /** Share of single positions that is lost. */
  lost: 0.006,
  /**
   * Standard deviation of what each antenna adds to every vector, in mm: white, and flicker every ten minutes. What is reflected near an
   * antenna (the road, the rail, the water) returns with the satellites in waves of hours and less; little of it lasts the day.
   */
  noise: {
    horizontal: { white: 2.1, flicker: 0.06, sidereal: 0.8 },
    up: { white: 4.2, flicker: 0.12, sidereal: 1.6 },
    pattern: [
      [1, 6],
      [5, 2],
      [13, 1],
      [37, 1],
    ],
  },
  /** The processing claims this part of the true deviation, as processing does. */
  optimism: 1 / 4,
  /** What a degree of the deck moves, in mm: along the bridge to the west, and up. The deck is fixed at the east tower and grows from there. */
  warmth: {
    A1: { longitudinal: 0, up: 0.2 },
    T1: { longitudinal: 0, up: 0.95 },
    Q1: { longitudinal: 1.15, up: -1.2 },
    M1: { longitudinal: 2.3, up: -2.0 },
    Q2: { longitudinal: 3.45, up: -1.3 },
    T2: { longitudinal: 0.9, up: 0.95 },
    J2: { longitudinal: 6.65, up: 0.15 },
    A2: { longitudinal: 0, up: 0.2 },
  },
  /** Concrete is as warm as the steel of the deck was so long ago. */
  lateHours: { A1: 6, T1: 6, T2: 6, A2: 6 },
  /** What a metre of tide moves, in mm, seaward and up: the water weighs on the mud about the caissons and leans on them. */
  tide: {
    B3: { seaward: -0.5, up: -0.7 },
    A1: { seaward: 0, up: -0.3 },
    T1: { seaward: -2.4, up: -1.1 },
    Q1: { seaward: -1.2, up: -2.6 },
    M1: { seaward: -1.5, up: -5.2 },
    Q2: { seaward: -1.3, up: -2.8 },
    T2: { seaward: -2.8, up: -1.3 },
    J2: { seaward: 0, up: -0.5 },
    A2: { seaward: 0, up: -0.3 },
  },
  /** Standard deviation of the sway of a mean of ten minutes for the square of the wind, mm/(m/s)^2, across the bridge. */
  sway: { T1: 0.03, Q1: 0.012, M1: 0.02, Q2: 0.012, T2: 0.03 },
  /** Standard deviation of what traffic does to up by day, mm. */
  traffic: { Q1: 3, M1: 4, Q2: 3, J2: 1 },
} as const;

export interface Axes {
  readonly longitudinal: number;
  readonly seaward: number;
  readonly up: number;
}

const hour = 3_600_000;
const dayMs = 24 * hour;
const of = <T>(table: Readonly<Record<string, T>>, station: string): T | undefined => table[station];

/** What warmth and tide make of a station of a bridge without faults, mm: zero at ten degrees and mean sea level. */
export function breathingAt(station: string, { deckAt, tideAt }: Environment, timeMs: number): Axes {
  const [warm, wet] = [of(truth.warmth, station), of(truth.tide, station)];
  const degrees = deckAt(timeMs - hour * (of(truth.lateHours, station) ?? 0)) - 10;
  const level = tideAt(timeMs);
  return {
    longitudinal: (warm?.longitudinal ?? 0) * degrees,
    seaward: (wet?.seaward ?? 0) * level,
    up: (warm?.up ?? 0) * degrees + (wet?.up ?? 0) * level,
  };
}

/** What the settling pier makes of a station, mm up. */
export function settledAt(station: string, timeMs: number): number {
  const { from, aDay, shares } = truth.settlement;
  return -(of(shares, station) ?? 0) * aDay * Math.max(0, (timeMs - Date.parse(from)) / dayMs);
}

/** True displacement of the structure or ground under an antenna, mm: it breathes, as far as its bearing lets it, and settles. */
export function displacementAt(station: string, environment: Environment, timeMs: number): Axes {
  const { longitudinal, seaward, up } = breathingAt(station, environment, timeMs);
  const sticks = Date.parse(truth.stuck.from);
  return {
    longitudinal:
      station === truth.stuck.station && timeMs > sticks
        ? breathingAt(station, environment, sticks).longitudinal
        : longitudinal,
    seaward,
    up: up + settledAt(station, timeMs),
  };
}

/** True in the times in which nothing comes from a station. */
export function isOut(station: string, timeMs: number): boolean {
  return truth.outages.some(
    ({ stations, from, to }) =>
      (stations as readonly string[]).includes(station) &&
      timeMs >= Date.parse(from) &&
      timeMs < Date.parse(to),
  );
}
