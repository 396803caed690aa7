import { ellipsoidNamed, TopocentricFrame } from '@stillmark/geodesy';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { dayMs, type EpochSeries, type StatementSettings } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { analyseStation, judgeTogether, judgeVelocities, type StationTask } from './index.ts';

const hour = 3_600_000;
const first = Date.parse('2025-01-01T00:00:00Z');
const frame = TopocentricFrame.at(ellipsoidNamed('GRS 1980')!, { x: 4_200_000, y: 800_000, z: 4_700_000 });
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 6 * hour,
  statementMs: 24 * hour,
  rateMs: 30 * dayMs,
};

/** Epochs at some hours, at the origin but for what is added in x. */
function epochs(hours: readonly number[], x: (hour: number, i: number) => number): EpochSeries {
  const n = hours.length;
  return {
    stream: 's',
    station: 'T',
    timesMs: Float64Array.from(hours, (h) => first + h * hour),
    xyz: Float64Array.from(
      hours.flatMap((h, i) => [
        4_200_000 + x(h, i),
        800_000 + 0.7 * x(h + 0.3, i),
        4_700_000 + 0.4 * x(h + 0.6, i),
      ]),
    ),
    covariance: Float64Array.from({ length: 6 * n }, (_, k) => ([0, 3, 5].includes(k % 6) ? 1e-6 : 0)),
  };
}
const whole = Array.from({ length: 100 * 24 }, (_, i) => i);
const noisy = (seed: number): ((h: number) => number) => {
  const random = source(seed);
  return () => 0.002 * random.normal();
};
const log = (values: (ms: number) => number) => {
  const timesMs = Float64Array.from(whole, (h) => first + h * hour);
  return {
    sensor: 'a',
    what: 'air',
    unit: '°C',
    longestLagMs: 2 * dayMs,
    readings: { timesMs, values: timesMs.map(values) },
  };
};

const task = (series: EpochSeries, more: Partial<StationTask> = {}): StationTask => ({
  series,
  frame,
  reference: { fromMs: first, toMs: first + 28 * dayMs },
  steps: [],
  evidence: { constellations: ['GPS'], settle: { horizontal: 0.002, up: 0.004 } },
  settings,
  asOfMs: first + 100 * dayMs,
  processingIntervalMs: dayMs,
  response: { covariates: [log((ms) => Math.sin(ms / 1e9))], meansMs: dayMs, seasons: false, tides: true },
  ...more,
});

/** Every number that is told is a number; the columns of series have NaN where no interval can be stated. */
function finite(value: unknown, path = ''): string[] {
  if (typeof value === 'number') return Number.isFinite(value) ? [] : [path];
  if (ArrayBuffer.isView(value)) return [];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, v]) => finite(v, `${path}.${key}`));
}

const cases: [string, StationTask][] = [
  ['no epoch', task(epochs([], () => 0))],
  ['one epoch', task(epochs([5], () => 0))],
  ['two epochs', task(epochs([5, 6], () => 0))],
  ['a constant series', task(epochs(whole, () => 0.01))],
  ['epochs in the reference period alone', task(epochs(whole.slice(0, 28 * 24), noisy(1)))],
  ['epochs after the reference period alone', task(epochs(whole.slice(40 * 24), noisy(2)))],
  [
    'gaps everywhere',
    task(
      epochs(
        whole.filter((h) => h % 24 === 0),
        noisy(3),
      ),
    ),
  ],
  ['one epoch each thirty days', task(epochs([0, 720, 1440, 2160], noisy(4)))],
  [
    'half of it outliers',
    task(epochs(whole, (h, i) => 0.002 * Math.sin(h) + (i % 2 === 0 ? 0 : 5 * Math.sin(3 * i)))),
  ],
  [
    'a log that never varies',
    task(epochs(whole, noisy(5)), {
      response: { covariates: [log(() => 7)], meansMs: dayMs, seasons: true, tides: true },
    }),
  ],
  [
    'a log of half the span',
    task(epochs(whole, noisy(6)), {
      response: {
        covariates: [
          {
            ...log((ms) => ms % 7),
            readings: {
              timesMs: Float64Array.of(first + 50 * dayMs, first + 51 * dayMs, first + 52 * dayMs),
              values: Float64Array.of(1, 2, 4),
            },
          },
        ],
        meansMs: dayMs,
        seasons: false,
        tides: false,
      },
    }),
  ],
  [
    'logs that are copies',
    task(epochs(whole, noisy(7)), {
      response: {
        covariates: [log((ms) => Math.sin(ms / 1e9)), { ...log((ms) => Math.sin(ms / 1e9)), sensor: 'b' }],
        meansMs: dayMs,
        seasons: false,
        tides: false,
      },
    }),
  ],
  ['a step at the first epoch', task(epochs(whole, noisy(8)), { steps: [{ atMs: first, what: 'x' }] })],
  [
    'a step at the last epoch',
    task(epochs(whole, noisy(9)), { steps: [{ atMs: first + 2399 * hour, what: 'x' }] }),
  ],
  [
    'an event years before and one years after',
    task(epochs(whole, noisy(10)), {
      steps: [
        { atMs: first - 900 * dayMs, what: 'x' },
        { atMs: first + 900 * dayMs, what: 'y' },
      ],
    }),
  ],
  [
    'two events at one time',
    task(epochs(whole, noisy(11)), {
      steps: [
        { atMs: first + 60 * dayMs, what: 'x' },
        { atMs: first + 60 * dayMs, what: 'y' },
      ],
    }),
  ],
  [
    'a filter of multipath on four epochs',
    task(epochs([0, 1, 2, 3], noisy(12)), {
      settings: { ...settings, sidereal: { days: 7, repeatSeconds: 86_155 } },
    }),
  ],
];

describe('series of which little or nothing can be said', () => {
  test.each(cases)('%s: a statement or a reason, and never a figure that is none', (_, given) => {
    const found = analyseStation({
      ...given,
      knownSteps: given.steps.map((s) => ({ ...s, kind: 'instrument' })),
    });
    expect(finite(found)).toEqual([]);
    expect(found.judged ?? found.statement).toBeDefined();
    if (found.statement?.kind === 'not-statable') expect(found.statement.reason).toMatch(/\w{4}/);
    if (found.judged) expect(finite(judgeTogether([found.judged], settings))).toEqual([]);
    if (found.trajectory) expect(finite(judgeVelocities([found.trajectory.velocity], settings))).toEqual([]);
    if (found.response && 'reason' in found.response) expect(found.response.reason).toMatch(/\w{4}/);
  });
});
