import { seeded, source, type Source } from '../synthetic/noise.ts';
import { axesAt } from '../synthetic/place.ts';
import { antennaNoise, faultOf, pushClaimed, type AntennaNoise, type Vectors } from '../synthetic/vectors.ts';
import { solarHours, trafficAt, type Environment } from './environment.ts';
import { centre, layout, planOf, positionOf } from './layout.ts';
import { displacementAt, isOut, truth } from './truth.ts';

const step = truth.everyMinutes * 60_000;
const from = Date.parse(truth.from);
const epochs = (Date.parse(truth.to) - from) / step;

/** Streams of the project: the bases whose coordinates the processing holds. */
export const heldBases = { 'from-B1': 'B1', 'from-B2': 'B2' } as const;
export type StreamName = keyof typeof heldBases;

/**
 * The vectors of the Plovermouth bridge, one every ten minutes, from two held bases, in geocentric coordinates.
 *
 * @param seed another seed gives another history of noise with the same truth
 */
export function plovermouthVectors(
  environment: Environment,
  seed = 20260914,
  streams = Object.keys(heldBases) as StreamName[],
): Vectors<StreamName>[] {
  const random = source(seed);
  const antennas = new Map(
    Object.keys(layout).map((id) => {
      const noise = antennaNoise(epochs, step, truth.noise, random);
      shake(id, noise, environment, random);
      return [id, noise];
    }),
  );
  return streams.flatMap((stream) => {
    const base = heldBases[stream];
    return Object.keys(layout)
      .filter((id) => id !== base)
      .map((station): Vectors<StreamName> => {
        const [own, held] = [antennas.get(station)!, antennas.get(base)!];
        return vectorsOf(stream, station, own, held, environment, random);
      });
  });
}

/** Adds to what an antenna sees what the wind does across the bridge and the traffic to the deck. */
function shake(id: string, noise: AntennaNoise, environment: Environment, { normal }: Source): void {
  const sway = (truth.sway as Record<string, number>)[id] ?? 0;
  const traffic = (truth.traffic as Record<string, number>)[id] ?? 0;
  const across = planOf(0, 1);
  for (let i = 0; i < epochs; i++) {
    const timeMs = from + i * step;
    const swayed = sway * environment.windAt(timeMs) ** 2 * normal();
    noise.east[i]! += across.east * swayed;
    noise.north[i]! += across.north * swayed;
    noise.up[i]! += traffic * trafficAt(timeMs) * normal();
  }
}

function vectorsOf(
  stream: StreamName,
  station: string,
  own: AntennaNoise,
  base: AntennaNoise,
  environment: Environment,
  random: Source,
): Vectors<StreamName> {
  const out: Vectors<StreamName> = { stream, station, timesMs: [], xyz: [], covariance: [] };
  const start = positionOf(layout[station]!);
  const axes = axesAt(centre);
  for (let i = 0; i < epochs; i++) {
    const timeMs = from + i * step;
    const fault = faultOf(random);
    const claimed = fault.stretch * (0.85 + 0.3 * random.uniform());
    // What was not sent was measured all the same: the noise of what follows stays what it is.
    if (random.uniform() < truth.lost || isOut(station, timeMs)) continue;
    const { longitudinal, seaward, up } = displacementAt(station, environment, timeMs);
    const moved = planOf(longitudinal, seaward);
    const e = moved.east + own.east[i]! - base.east[i]! + fault.east;
    const n = moved.north + own.north[i]! - base.north[i]! + fault.north;
    const u = up + own.up[i]! - base.up[i]! + fault.up;
    out.timesMs.push(timeMs);
    for (const k of [0, 1, 2] as const)
      out.xyz.push(start[k] + (axes.east[k] * e + axes.north[k] * n + axes.up[k] * u) / 1000);
    pushClaimed(out.covariance, axes, truth.noise, truth.optimism * Math.SQRT2 * claimed);
  }
  return out;
}

/** What the loggers write: warmth of air and deck, tide and wind, with the noise of their probes. */
export interface Readings {
  readonly timesMs: readonly number[];
  readonly air: number[];
  readonly deck: number[];
  readonly tide: number[];
  readonly wind: number[];
}

export function plovermouthReadings(environment: Environment, seed = 3): Readings {
  const { normal } = seeded(seed);
  const { timesMs, air, deck, tide, wind } = environment;
  const out: Readings = { timesMs, air: [], deck: [], tide: [], wind: [] };
  timesMs.forEach((_, i) => {
    out.air.push(air[i]! + 0.1 * normal());
    out.deck.push(deck[i]! + 0.1 * normal());
    out.tide.push(tide[i]! + 0.01 * normal());
    out.wind.push(wind[i]!);
  });
  return out;
}

/** Voltage of the battery of the towers over the last weeks: by day the array charges what the night has taken. */
export function plovermouthBattery(seed = 19): [timeMs: number, volts: number][] {
  const { normal } = seeded(seed);
  const hour = 3_600_000;
  const to = Date.parse(truth.to);
  const { days, from: first, to: last } = truth.battery;
  return Array.from({ length: days * 24 }, (_, i) => {
    const timeMs = to - days * 24 * hour + i * hour;
    const part = i / (days * 24);
    const charged = 0.3 * Math.max(0, Math.sin((2 * Math.PI * (solarHours(timeMs) - 7)) / 24));
    return [timeMs, first + (last - first) * part + charged + 0.01 * normal()];
  });
}
