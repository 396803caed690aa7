import { axesAt, geocentric, type Place, type Vector } from '../synthetic/place.ts';
import { siderealPattern, source, whitePlusFlicker, type Source } from '../synthetic/noise.ts';
import { displacementAt, truth } from './truth.ts';

const hour = 3_600_000;

/** True positions at the start: near the approximate ones of project.yaml, which are rounded. */
const places: Record<string, Place> = {
  B2: { latitude: 46.418_100_4, longitude: 9.876_799_1, height: 1141.312 },
  S1: { latitude: 46.422_800_9, longitude: 9.877_901_2, height: 1225.871 },
  S2: { latitude: 46.421_799_7, longitude: 9.878_600_5, height: 1204.448 },
  S3: { latitude: 46.420_901_1, longitude: 9.878_098_8, height: 1187.093 },
};

const header = 'station,time,x,y,z,cxx,cxy,cxz,cyy,cyz,czz';

/**
 * The positions of the Harrowfold slope as a processing engine would deliver them: hourly vectors from B1, a file a month.
 *
 * @param seed another seed gives another history of noise with the same truth
 */
export function harrowfoldPositions(seed = 20260914): Map<string, string> {
  const random = source(seed);
  const from = Date.parse(truth.from);
  const hours = (Date.parse(truth.to) - from) / hour;
  const base = noiseOf(hours, random);
  const rows = new Map<string, string[]>();
  for (const [station, place] of Object.entries(places)) {
    const own = noiseOf(hours, random);
    const start = geocentric(place);
    const axes = axesAt(place);
    for (let i = 0; i < hours; i++) {
      const timeMs = from + i * hour;
      if (station === truth.late.station && timeMs < Date.parse(truth.late.from)) continue;
      if (isMissing(station, i, random)) continue;
      const moved = displacementAt(station, timeMs);
      // Of a wrong fix the ambiguities are off by decimetres, and the processing does not know.
      const wrong = random.uniform() < 0.004 ? 60 + 200 * random.uniform() : 0;
      const turn = 2 * Math.PI * random.uniform();
      const e = moved.east + own.east[i]! - base.east[i]! + wrong * Math.cos(turn);
      const n = moved.north + own.north[i]! - base.north[i]! + wrong * Math.sin(turn);
      const u = moved.up + own.up[i]! - base.up[i]! + 0.7 * wrong;
      const position = [0, 1, 2].map(
        (k) => start[k]! + (axes.east[k]! * e + axes.north[k]! * n + axes.up[k]! * u) / 1000,
      );
      const stretch = 0.85 + 0.3 * random.uniform();
      const month = new Date(timeMs).toISOString().slice(0, 7);
      const line = [
        station,
        new Date(timeMs).toISOString().replace('.000Z', 'Z'),
        ...position.map((v) => v.toFixed(4)),
        ...claimed(axes, stretch),
      ];
      const file = `positions/${month}.csv`;
      let lines = rows.get(file);
      if (!lines) rows.set(file, (lines = []));
      lines.push(line.join(','));
    }
  }
  return new Map(
    [...rows].map(([file, lines]) => [file, `${header}\n${lines.sort(byTimeThenStation).join('\n')}\n`]),
  );
}

interface Noise {
  readonly east: Float64Array;
  readonly north: Float64Array;
  readonly up: Float64Array;
}

function noiseOf(hours: number, random: Source): Noise {
  const axis = ({
    white,
    flicker,
    sidereal,
  }: {
    white: number;
    flicker: number;
    sidereal: number;
  }): Float64Array => {
    const pattern = siderealPattern(sidereal, random);
    return whitePlusFlicker(hours, white, flicker, random).map((v, i) => v + pattern(i * hour));
  };
  const { horizontal, up } = truth.noise;
  return { east: axis(horizontal), north: axis(horizontal), up: axis(up) };
}

/** Single hours are lost now and then; in the night of 2 November the router of the slope is down. */
function isMissing(station: string, i: number, { uniform }: Source): boolean {
  const lost = uniform() < 0.006;
  const outage = station.startsWith('S') && i >= 49 * 24 + 20 && i < 50 * 24 + 9;
  return lost || outage;
}

/** The covariance that the processing claims, in geocentric axes: too small, as it usually is. */
function claimed(
  { east, north, up }: { east: Vector; north: Vector; up: Vector },
  stretch: number,
): string[] {
  const { horizontal, up: vertical } = truth.noise;
  const s = truth.optimism * Math.SQRT2 * stretch;
  const h2 = ((s * horizontal.white) / 1000) ** 2;
  const u2 = ((s * vertical.white) / 1000) ** 2;
  const element = (i: 0 | 1 | 2, j: 0 | 1 | 2): string =>
    (h2 * (east[i] * east[j] + north[i] * north[j]) + u2 * up[i] * up[j]).toExponential(5);
  return [element(0, 0), element(0, 1), element(0, 2), element(1, 1), element(1, 2), element(2, 2)];
}

function byTimeThenStation(a: string, b: string): number {
  const key = (line: string): string => {
    const [station, time] = line.split(',', 2);
    return `${time} ${station}`;
  };
  return key(a) < key(b) ? -1 : 1;
}
