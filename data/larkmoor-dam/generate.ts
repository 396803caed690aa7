import { seeded, source, type Source } from '../synthetic/noise.ts';
import { axesAt, type Vector } from '../synthetic/place.ts';
import { antennaNoise, faultOf, pushClaimed, type AntennaNoise, type Vectors } from '../synthetic/vectors.ts';
import { centre, layout, positionOf } from './layout.ts';
import { displacementAt, isSilent, seasonalTemperature, truth, waterLevel } from './truth.ts';

const hour = 3_600_000;
const from = Date.parse(truth.from);
const hours = (Date.parse(truth.to) - from) / hour;

/** Streams of the demo: the bases whose coordinates the processing holds. */
export const heldBases = { 'from-B1': 'B1', 'from-B2': 'B2' } as const;
export type StreamName = keyof typeof heldBases;

/**
 * The hourly vectors of the Larkmoor dam, from two held bases, in geocentric coordinates.
 *
 * @param seed another seed gives another history of noise with the same truth
 */
export function larkmoorVectors(
  seed = 20250825,
  streams = Object.keys(heldBases) as StreamName[],
): Vectors<StreamName>[] {
  const random = source(seed);
  const antennas = new Map(
    Object.keys(layout).map((id) => [id, antennaNoise(hours, hour, truth.noise, random)]),
  );
  const axes = axesAt(centre);
  return streams.flatMap((stream) => {
    const base = heldBases[stream];
    const stations = Object.keys(layout).filter((id) => id !== base);
    return stations.map((station) =>
      vectorsOf(stream, station, antennas.get(station)!, antennas.get(base)!, axes, random),
    );
  });
}

function vectorsOf(
  stream: StreamName,
  station: string,
  own: AntennaNoise,
  base: AntennaNoise,
  axes: { east: Vector; north: Vector; up: Vector },
  random: Source,
): Vectors<StreamName> {
  const held = heldBases[stream];
  const out: Vectors<StreamName> = { stream, station, timesMs: [], xyz: [], covariance: [] };
  const start = positionOf(layout[station]!);
  for (let i = 0; i < hours; i++) {
    const timeMs = from + i * hour;
    if (isMissing(station, timeMs, random)) continue;
    const moved = displacementAt(station, timeMs);
    // The processing holds the base where it stood: when it moves, everything seems to move the other way.
    const slid = displacementAt(held, timeMs);
    const knocked = station === truth.knock.station && timeMs >= Date.parse(truth.knock.at) ? 1 : 0;
    const fault = faultOf(random);
    const e = moved.east - slid.east + knocked * truth.knock.east + own.east[i]! - base.east[i]! + fault.east;
    const n =
      moved.north - slid.north + knocked * truth.knock.north + own.north[i]! - base.north[i]! + fault.north;
    const u = moved.up - slid.up + knocked * truth.knock.up + own.up[i]! - base.up[i]! + fault.up;
    const claimed = fault.stretch * (0.85 + 0.3 * random.uniform());
    // What a router did not send was measured all the same: the noise of what follows stays what it is.
    if (isSilent(station, timeMs)) continue;
    out.timesMs.push(timeMs);
    for (const k of [0, 1, 2] as const)
      out.xyz.push(start[k] + (axes.east[k] * e + axes.north[k] * n + axes.up[k] * u) / 1000);
    pushClaimed(out.covariance, axes, truth.noise, truth.optimism * Math.SQRT2 * claimed);
  }
  return out;
}

/** A winter storm takes the routers of the dam down for a night; the power of the berm fails for a day. */
const outages = [
  { stations: /^T/, from: '2025-12-27T19:00:00Z', to: '2025-12-28T08:00:00Z' },
  { stations: /^T0[6-9]$/, from: '2026-03-03T05:00:00Z', to: '2026-03-04T09:00:00Z' },
];

function isMissing(station: string, timeMs: number, { uniform }: Source): boolean {
  const lost = uniform() < 0.006;
  const { late, dark } = truth;
  if (station === late.station && timeMs < Date.parse(late.from)) return true;
  if (station === dark.station && timeMs >= Date.parse(dark.from)) return true;
  return (
    lost ||
    outages.some((o) => o.stations.test(station) && timeMs >= Date.parse(o.from) && timeMs < Date.parse(o.to))
  );
}

/** Hourly air temperature with its weather, and reservoir level above the sea, as loggers would write them. */
export function larkmoorReadings(seed = 7): { timesMs: number[]; temperature: number[]; level: number[] } {
  const random = source(seed);
  const out = { timesMs: [] as number[], temperature: [] as number[], level: [] as number[] };
  let weather = 0;
  for (let i = 0; i < hours; i++) {
    const timeMs = from + i * hour;
    // Weather that lasts some days: a first-order autoregression.
    weather = 0.985 * weather + 0.45 * random.normal();
    out.timesMs.push(timeMs);
    out.temperature.push(seasonalTemperature(timeMs) + weather);
    out.level.push(294.2 + waterLevel(timeMs) + 0.01 * random.normal());
  }
  return out;
}

/** Battery of the router of the berm, data that all stations use, and what is free on the host: name, unit, readings of each hour. */
export function larkmoorSupplies(): [
  name: string,
  unit: 'volt' | 'megabyte' | 'gigabyte',
  values: [number, number][],
][] {
  const random = seeded(11);
  const { battery, data, storage } = truth;
  const to = Date.parse(truth.to);
  const volts: [number, number][] = [];
  const used: [number, number][] = [];
  const free: [number, number][] = [];
  let megabytes = 0;
  for (let timeMs = to - battery.days * 24 * hour; timeMs < to; timeMs += hour) {
    const part = 1 - (to - timeMs) / (battery.days * 24 * hour);
    // By day the array charges what the night has taken.
    const day = 0.25 * Math.max(0, Math.sin((2 * Math.PI * ((timeMs % (24 * hour)) / hour - 7)) / 24));
    volts.push([timeMs, battery.from + (battery.to - battery.from) * part + day + 0.01 * random.normal()]);
    const at = new Date(timeMs);
    if (at.getUTCDate() === 1 && at.getUTCHours() === 0) megabytes = 0;
    megabytes += (data.megabytesADay / 24) * (0.8 + 0.4 * random.uniform());
    used.push([timeMs, megabytes]);
    free.push([timeMs, storage.free + (storage.aDay * (timeMs - to)) / (24 * hour) + 0.02 * random.normal()]);
  }
  return [
    ['battery', 'volt', volts],
    ['data', 'megabyte', used],
    ['storage', 'gigabyte', free],
  ];
}
