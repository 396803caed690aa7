import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { geocentric, type Place } from '@stillmark/data/synthetic/place.ts';
import { ellipsoids, TopocentricFrame } from '@stillmark/geodesy';
import { dayMs, type CheckRecord, type EpochSeries, type ReadinessRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { prepare, readinessOf, type ReadinessTask } from './index.ts';

const hour = dayMs / 24;
const start = Date.parse('2026-03-01T00:00:00Z');
const place: Place = { latitude: 47, longitude: 11, height: 900 };
const [x, y, z] = geocentric(place) as [number, number, number];
const frame = TopocentricFrame.at(ellipsoids['GRS 1980'], { x, y, z });

/** Hourly positions in metres with noise and a slope to the east (mm a day), the hours that `keep` takes. */
function series(
  days: number,
  keep: (hour: number) => boolean = () => true,
  slope = 0,
  seed = 3,
): EpochSeries {
  const random = source(seed);
  const n = 24 * days;
  const noise = [0, 1, 2].map(() => whitePlusFlicker(n, 2, 0.2, random));
  const kept = Array.from({ length: n }, (_, i) => i).filter(keep);
  return {
    stream: 'main',
    station: 'S1',
    timesMs: Float64Array.from(kept, (i) => start + i * hour),
    xyz: Float64Array.from(
      kept.flatMap((i) => {
        const p = frame.toGeocentric({
          east: (noise[0]![i]! + (slope * i) / 24) / 1000,
          north: noise[1]![i]! / 1000,
          up: noise[2]![i]! / 1000,
        });
        return [p.x, p.y, p.z];
      }),
    ),
    covariance: Float64Array.from(kept.flatMap(() => [1e-6, 0, 0, 1e-6, 0, 1e-6])),
  };
}
const settings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 6 * hour,
  statementMs: dayMs,
  rateMs: 30 * dayMs,
};
const judge = (of: EpochSeries, days: number, more: Partial<ReadinessTask> = {}): ReadinessRecord =>
  readinessOf(prepare({ series: of, frame, settings, steps: [] }), {
    fromMs: start,
    toMs: start + days * dayMs,
    constellations: ['GPS', 'GLONASS', 'Galileo', 'BeiDou'],
    settle: { horizontal: 0.002, up: 0.004 },
    steps: [],
    ...more,
  });
const verdicts = ({ checks }: ReadinessRecord): Record<string, CheckRecord['verdict']> =>
  Object.fromEntries(
    checks.map(({ check, of, verdict }) => [of === undefined ? check : `${check} ${of}`, verdict]),
  );

describe('readiness of a reference period', () => {
  test('four whole weeks of a still station are ready, with every piece of evidence', () => {
    const found = judge(series(28), 28);
    expect(found.ready).toBe(true);
    expect(new Set(Object.values(verdicts(found)))).toEqual(new Set(['pass']));
    expect(found.hours.length).toBe(24);
    expect(Math.min(...found.hours)).toBeGreaterThan(24);
  });

  test('nine days are not yet enough, for the span and for the cycle of Galileo, and it is said from when they will be', () => {
    const found = judge(series(9), 9);
    expect(found.ready).toBe(false);
    expect(found.readyAt).toBe('2026-03-15T00:00:00Z');
    expect(verdicts(found)).toMatchObject({
      span: 'not yet',
      windows: 'pass',
      'cycle GPS': 'pass',
      'cycle GLONASS': 'pass',
      'cycle Galileo': 'not yet',
      'cycle BeiDou': 'pass',
    });
  });

  test('a station that is off for some hours of each day misses sidereal hours for good', () => {
    // Solar time and sidereal time part by four minutes a day: over two weeks an hour of night uncovers one more hour.
    const found = judge(
      series(14, (i) => i % 24 < 21),
      14,
    );
    expect(verdicts(found)).toMatchObject({
      span: 'pass',
      windows: 'pass',
      hours: 'fail',
    });
    expect(found.hours.filter((count) => count === 0).length).toBeGreaterThanOrEqual(1);
    const dark = judge(
      series(14, (i) => i % 24 < 12),
      14,
    );
    expect(verdicts(dark)['windows']).toBe('fail');
  });

  test('a slope is told from noise, and a still station is not called drifting: once in 200 at most', () => {
    expect(verdicts(judge(series(28, undefined, 0.4), 28))['drift']).toBe('fail');
    let wrong = 0;
    for (let seed = 1; seed <= 40; seed++)
      if (verdicts(judge(series(21, undefined, 0, seed), 21))['drift'] === 'fail') wrong++;
    expect(wrong).toBeLessThanOrEqual(1);
  });

  test('a running mean that still wanders, and a step inside, are no reference', () => {
    expect(verdicts(judge(series(16, undefined, 4), 16))['settled horizontal']).toBe('not yet');
    const step = { atMs: start + 5 * dayMs, what: 'antenna exchanged' };
    expect(verdicts(judge(series(28), 28, { steps: [step] }))['steps']).toBe('fail');
  });

  test('of no positions, of one, and of two nothing is NaN and nothing is ready', () => {
    for (const count of [1, 2]) {
      const found = judge(
        series(1, (i) => i < count),
        1,
      );
      expect(found.ready).toBe(false);
      for (const { value } of found.checks) expect(value).not.toBeNaN();
    }
  });
});
