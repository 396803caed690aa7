import { analyseStation, judgeTogether, prepare, referenceEvidence, type Judged } from '@stillmark/analysis';
import { larkmoorVectors } from '@stillmark/data/larkmoor-dam/generate.ts';
import { centre, layout, longitudinalAzimuth, positionOf } from '@stillmark/data/larkmoor-dam/layout.ts';
import { displacementAt, truth } from '@stillmark/data/larkmoor-dam/truth.ts';
import { axesAt } from '@stillmark/data/synthetic/place.ts';
import type { Vectors } from '@stillmark/data/synthetic/vectors.ts';
import { ellipsoids, radians, TopocentricFrame } from '@stillmark/geodesy';
import type { DisplacementStatement, EpochSeries, StatementSettings } from '@stillmark/records';
import { beforeAll, describe, expect, test } from 'vitest';

const day = 86_400_000;
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: day / 4,
  statementMs: day,
  rateMs: 60 * day,
};
const reference = { fromMs: Date.parse(truth.reference.from), toMs: Date.parse(truth.reference.to) };
const asOfMs = Date.parse(truth.to) - 3_600_000;
const seeds = Array.from({ length: 6 }, (_, i) => 400 + i);

interface Stated {
  readonly station: string;
  readonly statement: DisplacementStatement;
}

/** All stations of one history in the first stream that can be stated, through the rooms that state them. */
function statementsOf(seed: number): Stated[] {
  const judged: { station: string; judged: Judged }[] = [];
  for (const vectors of larkmoorVectors(seed, ['from-B1'])) {
    const { station } = vectors;
    if (station === truth.late.station || station === truth.dark.station) continue;
    const series = seriesOf(vectors);
    const steps =
      station === truth.knock.station ? [{ atMs: Date.parse(truth.knock.at), what: 'antenna knocked' }] : [];
    const [x, y, z] = positionOf(layout[station]!);
    const near = TopocentricFrame.at(ellipsoids['GRS 1980'], { x, y, z });
    const { windows } = prepare({ series, frame: near, settings, steps });
    const { position } = referenceEvidence(windows, near, reference.fromMs, reference.toMs, steps);
    const analysis = analyseStation({
      series,
      frame: TopocentricFrame.at(ellipsoids['GRS 1980'], position),
      reference,
      steps,
      settings,
      longitudinalAzimuthDeg: longitudinalAzimuth,
      asOfMs,
      processingIntervalMs: day,
    });
    judged.push({ station, judged: analysis.judged! });
  }
  const statements = judgeTogether(
    judged.map((j) => j.judged),
    settings,
    radians(longitudinalAzimuth),
  );
  return judged.map(({ station }, i) => ({ station, statement: statements[i]! }));
}

function seriesOf({ stream, station, timesMs, xyz, covariance }: Vectors): EpochSeries {
  return {
    stream,
    station,
    timesMs: Float64Array.from(timesMs),
    xyz: Float64Array.from(xyz),
    covariance: Float64Array.from(covariance),
  };
}

interface Axes {
  readonly east: number;
  readonly north: number;
  readonly up: number;
}

const meanOver = (fromMs: number, toMs: number, of: (ms: number) => Axes): Axes => {
  const sum = { east: 0, north: 0, up: 0 };
  let n = 0;
  for (let t = fromMs; t < toMs; t += 3_600_000, n++) {
    const d = of(t);
    sum.east += d.east;
    sum.north += d.north;
    sum.up += d.up;
  }
  return { east: sum.east / n, north: sum.north / n, up: sum.up / n };
};

/** True displacement over the window of a statement against the mean of the reference period, mm. */
function trueDisplacement(station: string, { window }: DisplacementStatement): Axes {
  const at = (ms: number): Axes => displacementAt(station, ms);
  const now = meanOver(Date.parse(window.from), Date.parse(window.to), at);
  const then = meanOver(reference.fromMs, reference.toMs, at);
  return { east: now.east - then.east, north: now.north - then.north, up: now.up - then.up };
}

/** Slope of least squares through the true displacement over the span of a rate, mm in 30 days. */
function trueRate(station: string, { from, to }: { from: string; to: string }): Axes {
  const [a, b] = [Date.parse(from), Date.parse(to)];
  const middle = (a + b) / 2;
  const slope = (axis: keyof Axes): number => {
    let [xy, xx] = [0, 0];
    for (let t = a; t < b; t += 6 * 3_600_000) {
      const x = (t - middle) / (30 * day);
      xy += x * displacementAt(station, t)[axis];
      xx += x * x;
    }
    return xy / xx;
  };
  return { east: slope('east'), north: slope('north'), up: slope('up') };
}

function inEllipse(
  { east_mm, north_mm, horizontal }: Pick<DisplacementStatement, 'east_mm' | 'north_mm' | 'horizontal'>,
  t: Axes,
): boolean {
  const { semiMajor_mm, semiMinor_mm, azimuthDeg } = horizontal.ellipse;
  const a = radians(azimuthDeg);
  const [de, dn] = [east_mm - t.east, north_mm - t.north];
  const along = (de * Math.sin(a) + dn * Math.cos(a)) / semiMajor_mm;
  const across = (de * Math.cos(a) - dn * Math.sin(a)) / semiMinor_mm;
  return along ** 2 + across ** 2 <= 1;
}

/** Least count that a rate of 95 % falls below in `n` trials with a chance of 1 in 1000 (normal approximation). */
const least = (n: number): number => 0.95 * n - 3.1 * Math.sqrt(n * 0.95 * 0.05);

const histories: Stated[][] = [];
beforeAll(() => {
  for (const seed of seeds) histories.push(statementsOf(seed));
}, 300_000);

describe('what is planted in six histories of the Larkmoor dam is stated', () => {
  test('true displacements lie in their 95 % ellipses and intervals at the stated rate', () => {
    let [ellipses, intervals, n] = [0, 0, 0];
    for (const { station, statement } of histories.flat()) {
      const t = trueDisplacement(station, statement);
      if (inEllipse(statement, t)) ellipses++;
      if (Math.abs(statement.up_mm - t.up) <= statement.up.plusMinus_mm) intervals++;
      n++;
    }
    // The stations of a history share the noise of their base: the counts scatter more than the bound supposes.
    expect(n).toBe(6 * 12);
    expect(ellipses).toBeGreaterThanOrEqual(least(n) - 2);
    expect(intervals).toBeGreaterThanOrEqual(least(n) - 2);
  });

  test('true rates lie in theirs', () => {
    let [ellipses, n] = [0, 0];
    for (const { station, statement } of histories.flat()) {
      if (!statement.rate) continue;
      if (inEllipse(statement.rate, trueRate(station, statement.rate))) ellipses++;
      n++;
    }
    expect(n).toBeGreaterThan(60);
    expect(ellipses).toBeGreaterThanOrEqual(least(n) - 2);
  });

  test('the creeping station and the sliding base are found in every history, with their direction', () => {
    const { creep, slide } = truth;
    for (const history of histories) {
      for (const [id, azimuth] of [
        [creep.station, longitudinalAzimuth + 90],
        [slide.station, slide.azimuth],
      ] as const) {
        const { horizontal, rate } = history.find((s) => s.station === id)!.statement;
        expect(horizontal.distinguishable).toBe(true);
        expect(Math.abs(((horizontal.azimuthDeg - azimuth + 540) % 360) - 180)).toBeLessThan(25);
        expect(rate!.horizontal.magnitude_mm).toBeGreaterThan(1);
      }
    }
  });

  test('the knocked antenna is not called moved, and hardly any still station is', () => {
    const knocked = histories.filter((history) => {
      const { horizontal, up } = history.find((s) => s.station === truth.knock.station)!.statement;
      return horizontal.distinguishable || up.distinguishable;
    });
    expect(knocked.length).toBeLessThanOrEqual(1);
    const still = histories
      .flat()
      .filter(({ station }) => /^T(01|05|10|11)$/.test(station))
      .filter(({ statement: s }) => s.horizontal.distinguishable || s.up.distinguishable);
    expect(still.length).toBeLessThanOrEqual(2);
  });

  test('without its event the knocked antenna would be: the step is real in the data', () => {
    const { east, north, up } = truth.knock;
    expect(Math.hypot(east, north, up)).toBeCloseTo(9, 1);
    const vectors = larkmoorVectors(400, ['from-B1']).find((v) => v.station === truth.knock.station);
    const axes = axesAt(centre);
    const start = positionOf(layout[truth.knock.station]!);
    const eastAt = (i: number): number =>
      1000 * [0, 1, 2].reduce((s, k) => s + axes.east[k]! * (vectors!.xyz[3 * i + k]! - start[k]!), 0);
    const at = vectors!.timesMs.findIndex((t) => t >= Date.parse(truth.knock.at));
    const mean = (from: number, to: number): number => {
      const values = Array.from({ length: to - from }, (_, i) => eastAt(from + i)).sort((a, b) => a - b);
      return values[values.length >> 1]!;
    };
    expect(mean(at, at + 400) - mean(at - 400, at)).toBeGreaterThan(4);
  });
});
