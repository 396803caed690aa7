import { longitudinalAzimuth } from './layout.ts';

/**
 * What the generator plants in the Larkmoor series. Tests compare with it; no computation reads it.
 */
export const truth = {
  from: '2025-08-25T00:00:00Z',
  to: '2026-11-23T00:00:00Z',
  reference: { from: '2025-09-01T00:00:00Z', to: '2025-09-29T00:00:00Z' },
  /** T07 creeps downstream since the second filling: millimetres in 30 days. */
  creep: { station: 'T07', from: '2026-06-20T00:00:00Z', downstream: 3.2, up: -0.9 },
  /** The antenna of T04 is knocked by 9 mm: that is no movement of the dam. */
  knock: { station: 'T04', at: '2026-04-14T10:20:00Z', east: 6.5, north: -5.0, up: -3.7 },
  /** The ground under B2 slides slowly: millimetres in 30 days, toward this azimuth. */
  slide: { station: 'B2', from: '2026-07-22T00:00:00Z', horizontal: 2.1, azimuth: 205, up: -0.5 },
  /** First position of the station that is not ready to be committed. */
  late: { station: 'T12', from: '2026-11-14T00:00:00Z' },
  /** From here on this station sends nothing. */
  dark: { station: 'T02', from: '2026-11-18T00:00:00Z' },
  /** The router of the berm sends nothing in these times, and with it what hangs on it. */
  router: {
    stations: ['T06', 'T07', 'T08', 'T09'],
    out: [
      { from: '2026-09-14T02:00:00Z', to: '2026-09-14T15:00:00Z' },
      { from: '2026-10-28T20:00:00Z', to: '2026-10-29T09:00:00Z' },
    ],
  },
  /** The signals of this receiver are weaker from here on: a connector has taken in water. */
  weak: { station: 'T08', from: '2026-11-20T00:00:00Z', decibels: 4 },
  /** The codes of this receiver are rougher than those of the others: something near it reflects. */
  reflections: { station: 'T05', metres: 0.6 },
  /** Voltage of the battery of that router: from this to that over the last weeks. */
  battery: { days: 40, from: 12.9, to: 12.15 },
  /** Data that all stations together use a day, and what is free on the disk of the host. */
  data: { megabytesADay: 19 },
  storage: { free: 212, aDay: -0.06 },
  /** Standard deviation of what each antenna adds to every vector, in mm: white, and flicker an hour. */
  noise: {
    horizontal: { white: 1.9, flicker: 0.2, sidereal: 0.7 },
    up: { white: 4.0, flicker: 0.42, sidereal: 1.4 },
  },
  /** The processing claims this part of the true deviation, as processing does. */
  optimism: 1 / 5,
  /** What a metre of water moves downstream, and a degree of warmth up, in mm; by station, for those that respond. */
  response: {
    water: { B3: 0.22, T02: 0.07, T03: 0.09, T04: 0.07, T06: 0.05, T07: 0.06, T08: 0.06, T09: 0.05 },
    warmth: { T01: 0.05, T02: 0.06, T03: 0.07, T04: 0.06, T05: 0.05 },
  },
} as const;

const dayMs = 86_400_000;
const firstDay = Date.parse(truth.from);

/** Level of the reservoir above its level in the reference period, metres: two fillings, each drawn down again. */
export function waterLevel(timeMs: number): number {
  const day = (timeMs - firstDay) / dayMs;
  const ramp = (from: number, to: number): number => {
    const s = Math.min(1, Math.max(0, (day - from) / (to - from)));
    return s * s * (3 - 2 * s);
  };
  return 9 * (ramp(70, 130) - ramp(190, 250)) + 13 * ramp(270, 320) - 9 * ramp(380, 445);
}

/** Air temperature without its weather, degrees Celsius: a yearly and a daily wave. */
export function seasonalTemperature(timeMs: number): number {
  const year = (2 * Math.PI * (timeMs - Date.UTC(2025, 6, 20))) / (365.25 * dayMs);
  const day = (2 * Math.PI * (timeMs % dayMs)) / dayMs;
  return 8.5 + 6.5 * Math.cos(year) + 3.2 * Math.cos(day - (2 * Math.PI * 14) / 24);
}

/** True displacement of the structure or ground under an antenna since the start, mm. */
export function displacementAt(station: string, timeMs: number): { east: number; north: number; up: number } {
  const { creep, slide, response } = truth;
  const months = (from: string): number => Math.max(0, (timeMs - Date.parse(from)) / (30 * dayMs));
  let downstream = ((response.water as Record<string, number>)[station] ?? 0) * waterLevel(timeMs);
  let [east, north] = [0, 0];
  let up =
    ((response.warmth as Record<string, number>)[station] ?? 0) *
    (seasonalTemperature(timeMs) - seasonalTemperature(firstDay));
  if (station === creep.station) {
    downstream += creep.downstream * months(creep.from);
    up += creep.up * months(creep.from);
  }
  if (station === slide.station) {
    const azimuth = (slide.azimuth * Math.PI) / 180;
    east += slide.horizontal * months(slide.from) * Math.sin(azimuth);
    north += slide.horizontal * months(slide.from) * Math.cos(azimuth);
    up += slide.up * months(slide.from);
  }
  const transverse = ((longitudinalAzimuth + 90) * Math.PI) / 180;
  return {
    east: east + downstream * Math.sin(transverse),
    north: north + downstream * Math.cos(transverse),
    up,
  };
}

/** True where nothing comes from a station: it does not stand yet, its contract has run out, or its router is silent. */
export function isOut(station: string, timeMs: number): boolean {
  const { dark, late } = truth;
  return (
    (station === dark.station && timeMs >= Date.parse(dark.from)) ||
    (station === late.station && timeMs < Date.parse(late.from)) ||
    isSilent(station, timeMs)
  );
}

/** True in the times in which the router of a station sends nothing. */
export function isSilent(station: string, timeMs: number): boolean {
  const { stations, out } = truth.router;
  return (
    (stations as readonly string[]).includes(station) &&
    out.some(({ from, to }) => timeMs >= Date.parse(from) && timeMs < Date.parse(to))
  );
}
