import { ellipsoids, radians, TopocentricFrame } from '@stillmark/geodesy';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import {
  spacingOf,
  epochFlag,
  judgeEpochs,
  referenceEvidence,
  toTopocentricSeries,
  windowSolutions,
  type TopocentricSeries,
} from './index.ts';

const hour = 3_600_000;
const everyHour = { usualMs: hour, at: () => hour };

function hourly(n: number, change: (series: TopocentricSeries) => void = () => {}): TopocentricSeries {
  const random = source(11);
  const axis = (): Float64Array => Float64Array.from({ length: n }, () => 0.002 * random.normal());
  const variance = (): Float64Array => new Float64Array(n).fill(1e-6);
  const series = {
    timesMs: Float64Array.from({ length: n }, (_, i) => i * hour),
    east: axis(),
    north: axis(),
    up: axis(),
    variance: { east: variance(), north: variance(), up: variance() },
  };
  change(series);
  return series;
}

describe('quality', () => {
  test('a single wrong fix is an outlier; its neighbours are used', () => {
    const { flag, outliers } = judgeEpochs(hourly(200, (s) => (s.north[77] = 0.4)));
    expect([flag[76], flag[77], flag[78]]).toEqual([epochFlag.used, epochFlag.outlier, epochFlag.used]);
    expect(outliers).toBeLessThanOrEqual(2);
  });

  test('a step is not rejected: its first epochs are used and reported as unconfirmed', () => {
    const { flag, unconfirmed } = judgeEpochs(
      hourly(200, (s) => s.up.forEach((v, i) => i >= 195 && (s.up[i] = v - 0.03))),
    );
    expect([...flag.subarray(195)]).toEqual([0, 0, 0, 0, 0]);
    expect(unconfirmed).toEqual([{ fromMs: 195 * hour, toMs: 199 * hour, epochs: 5 }]);
  });

  test('two positions for one time are both set aside', () => {
    const { flag, conflicts } = judgeEpochs(hourly(50, (s) => (s.timesMs[21] = s.timesMs[20]!)));
    expect(conflicts).toBe(2);
    expect([flag[19], flag[20], flag[21], flag[22]]).toEqual([0, 2, 2, 0]);
  });

  test('the same position delivered twice for one time is used once, and is no conflict', () => {
    const twice = hourly(50, (s) => {
      s.timesMs[21] = s.timesMs[20]!;
      for (const axis of [s.east, s.north, s.up]) axis[21] = axis[20]!;
      s.variance.up[21] = 1.001e-6;
    });
    const { flag, conflicts } = judgeEpochs(twice);
    expect(conflicts).toBe(0);
    expect([flag[19], flag[20], flag[21], flag[22]]).toEqual([0, 0, epochFlag.repeated, 0]);
  });

  test('of pure noise at most one epoch in 400 is called an outlier', () => {
    expect(judgeEpochs(hourly(2000)).outliers).toBeLessThanOrEqual(5);
  });
});

describe('window solutions', () => {
  test('are the weighted mean, with the formal deviation that the weights give', () => {
    const series = hourly(6, (s) => {
      s.east.set([0, 1, 2, 3, 4, 5]);
      for (const v of [s.variance.east, s.variance.north, s.variance.up]) v.set([1, 1, 1, 1, 1, 4]);
    });
    const windows = windowSolutions(series, new Uint8Array(6), 6 * hour, everyHour);
    // Weights 1,1,1,1,1,1/4: mean (10 + 5/4) / 5.25, variance (5 + 4/16) / 5.25^2.
    expectClose(windows.east[0], 11.25 / 5.25, { within: 1e-14 });
    expectClose(windows.formal.east[0], Math.sqrt(5.25) / 5.25, { within: 1e-14 });
  });

  test('a window with less than half of its epochs gives no solution, and a gap stays a gap', () => {
    const series = hourly(48);
    const flag = new Uint8Array(48);
    flag.fill(epochFlag.outlier, 6, 10);
    flag.fill(epochFlag.outlier, 18, 21);
    const windows = windowSolutions(series, flag, 6 * hour, everyHour);
    expect([...windows.slot]).toEqual([0, 2, 3, 4, 5, 6, 7]);
    expect(windows.epochs[2]).toBe(3);
  });

  test('a station 4 600 km from its origin keeps its micrometres', () => {
    const series = hourly(6, (s) =>
      s.east.set([4.6e6, 4.6e6 + 1e-6, 4.6e6, 4.6e6 + 1e-6, 4.6e6, 4.6e6 + 1e-6]),
    );
    expectClose(windowSolutions(series, new Uint8Array(6), 6 * hour, everyHour).east[0]! - 4.6e6, 5e-7, {
      within: 1e-9,
    });
  });
});

describe('spacing', () => {
  test('a station that is sampled faster later keeps the windows of its slower beginning', () => {
    const times = [
      ...Array.from({ length: 24 * 21 }, (_, i) => i * hour),
      ...Array.from({ length: 12 * 24 * 35 }, (_, i) => 21 * 24 * hour + i * (hour / 12)),
    ];
    const series = { ...hourly(times.length), timesMs: Float64Array.from(times) };
    const spacing = spacingOf(series.timesMs, hour);
    expect([spacing.usualMs, spacing.at(hour), spacing.at(40 * 24 * hour)]).toEqual([
      hour / 12,
      hour,
      hour / 12,
    ]);
    const windows = windowSolutions(series, new Uint8Array(times.length), 6 * hour, spacing);
    expect(windows.slot.length).toBe(4 * 56);
  });

  test('of a single epoch it is what is expected', () => {
    expect(spacingOf(Float64Array.of(0), hour).at(0)).toBe(hour);
  });
});

describe('reference evidence', () => {
  const frame = TopocentricFrame.atGeodetic(ellipsoids['GRS 1980'], {
    latitude: radians(46),
    longitude: radians(9),
    height: 800,
  });
  const windows = windowSolutions(hourly(24 * 20), new Uint8Array(24 * 20), 6 * hour, everyHour);

  test('a period of 16 full days is ready, and its position is the mean of the windows', () => {
    const evidence = referenceEvidence(windows, frame, 0, 16 * 24 * hour);
    expect(evidence).toMatchObject({ days: 16, windows: 64, expectedWindows: 64, epochs: 384 });
    const mean = windows.up.subarray(0, 64).reduce((s, v) => s + v, 0) / 64;
    expectClose(frame.fromGeocentric(evidence.position).up, mean, { within: 2e-9, unit: 'm' });
  });

  test('a period with a step that is no movement is refused, by its time and name', () => {
    const step = { atMs: 5 * 24 * hour, what: 'antenna exchanged' };
    expect(() => referenceEvidence(windows, frame, 0, 16 * 24 * hour, [step])).toThrow(
      /1970-01-06T00:00:00Z, antenna exchanged/,
    );
  });

  test('a period outside the data is refused', () => {
    expect(() => referenceEvidence(windows, frame, 900 * 24 * hour, 920 * 24 * hour)).toThrow(
      /no window solution/,
    );
  });
});

test('epochs are turned into the axes of the station with their variances', () => {
  const frame = TopocentricFrame.atGeodetic(ellipsoids['GRS 1980'], { latitude: 0, longitude: 0, height: 0 });
  // At latitude 0, longitude 0: X is up, Y is east, Z is north.
  const series = toTopocentricSeries(
    {
      stream: 'main',
      station: 'S1',
      timesMs: Float64Array.of(0),
      xyz: Float64Array.of(6_378_137.003, 0.001, 0.002),
      covariance: Float64Array.of(9e-6, 0, 0, 1e-6, 0, 4e-6),
    },
    frame,
  );
  expectClose([series.east[0], series.north[0], series.up[0]], [0.001, 0.002, 0.003], {
    within: 1e-9,
    unit: 'm',
  });
  expectClose(
    [series.variance.east[0], series.variance.north[0], series.variance.up[0]],
    [1e-6, 4e-6, 9e-6],
    { within: 1e-18 },
  );
});
