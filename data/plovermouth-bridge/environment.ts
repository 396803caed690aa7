import { seeded } from '../synthetic/noise.ts';
import { centre } from './layout.ts';
import { truth } from './truth.ts';

const hour = 3_600_000;
const day = 24 * hour;
const step = truth.everyMinutes * 60_000;
/** The weather begins before the positions, since the deck remembers it. */
const lead = 3 * day;

/** Warmth, water and wind at the bridge, every ten minutes from some days before the first position. */
export interface Environment {
  readonly timesMs: readonly number[];
  /** Degrees Celsius. */
  readonly air: Float64Array;
  readonly deck: Float64Array;
  /** Metres above mean sea level. */
  readonly tide: Float64Array;
  /** Metres a second. */
  readonly wind: Float64Array;
  /** The values of the last whole ten minutes. */
  readonly deckAt: (timeMs: number) => number;
  readonly tideAt: (timeMs: number) => number;
  readonly windAt: (timeMs: number) => number;
}

/** Harmonic waves of the tide: speed in degrees an hour (Doodson 1921), amplitude in metres, phase in degrees. */
export const constituents = [
  { name: 'M2', speed: 28.984_104_2, amplitude: 1.05, phase: 118 },
  { name: 'S2', speed: 30, amplitude: 0.36, phase: 160 },
  { name: 'N2', speed: 28.439_729_5, amplitude: 0.17, phase: 95 },
  { name: 'O1', speed: 13.943_035_6, amplitude: 0.09, phase: 40 },
  { name: 'K1', speed: 15.041_068_6, amplitude: 0.14, phase: 71 },
] as const;

/** Hours of the mean sun at the bridge. */
export const solarHours = (timeMs: number): number =>
  (((timeMs / hour + centre.longitude / 15) % 24) + 24) % 24;

/** @param seed another seed gives another history of weather under the same sun and moon */
export function environmentOf(seed = 41): Environment {
  const random = seeded(seed);
  const from = Date.parse(truth.from) - lead;
  const n = (Date.parse(truth.to) - from) / step;
  const timesMs = Array.from({ length: n }, (_, i) => from + i * step);
  const column = (): Float64Array => new Float64Array(n);
  const [air, deck, tide, wind] = [column(), column(), column(), column()];
  // What lasts some days: first-order autoregressions, by their time and standard deviation.
  const lasting = (days: number, sigma: number): (() => number) => {
    const a = Math.exp(-step / (days * day));
    let state = sigma * random.normal();
    return () => (state = a * state + sigma * Math.sqrt(1 - a * a) * random.normal());
  };
  const weather = lasting(3, 1.6);
  const breeze = lasting(0.8, 0.48);
  const surge = lasting(1.5, 0.08);
  let sky = 0.6;
  let warm = 9;
  timesMs.forEach((timeMs, i) => {
    const hours = solarHours(timeMs);
    if (hours < step / hour) sky = 0.2 + 0.8 * random.uniform();
    const year = (2 * Math.PI * (timeMs - Date.UTC(2026, 0, 25))) / (365.25 * day);
    air[i] = 12.4 + 4.6 * Math.cos(year) + 3.2 * Math.cos((2 * Math.PI * (hours - 14.5)) / 24) + weather();
    const sun = (11 + 3 * Math.cos(year)) * sky * Math.max(0, Math.cos((2 * Math.PI * (hours - 12)) / 24));
    // The steel follows air and sun within some hours.
    warm += ((air[i] + sun - warm) * step) / (3.5 * hour);
    deck[i] = warm;
    wind[i] = Math.max(0, 6 * Math.exp(breeze()) + 0.5 * random.normal());
    tide[i] = constituents.reduce(
      (sum, { speed, amplitude, phase }) =>
        sum + amplitude * Math.cos((((speed * timeMs) / hour - phase) * Math.PI) / 180),
      surge(),
    );
  });
  const at = (values: Float64Array) => (timeMs: number) => values[Math.floor((timeMs - from) / step)]!;
  return { timesMs, air, deck, tide, wind, deckAt: at(deck), tideAt: at(tide), windAt: at(wind) };
}

/** How much traffic there is on the bridge, from 0 to 1.5: by hour and day of the week. */
export function trafficAt(timeMs: number): number {
  const hours = solarHours(timeMs);
  if (hours < 5.5 || hours > 22) return 0.1;
  // The first day of 1970 was a Thursday; Monday is 0.
  const weekday = (Math.floor((timeMs + (centre.longitude / 15) * hour) / day) + 3) % 7;
  if (weekday >= 5) return 0.6;
  return Math.abs(hours - 8) < 1 || Math.abs(hours - 17) < 1 ? 1.5 : 1;
}
