import { source, type Source } from '@stillmark/data/synthetic/noise.ts';
import {
  ellipsoids,
  radians,
  SkyPositions,
  TopocentricFrame,
  type KnownOrbit,
  type Orbit,
} from '@stillmark/geodesy';
import type { ObservationEpoch, SignalObservation, TrackingRow } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { ReceiverTally, SkyTally, type ReceiverTask } from '../index.ts';

const frame = TopocentricFrame.atGeodetic(ellipsoids['GRS 1980'], {
  latitude: radians(55),
  longitude: radians(-3),
  height: 300,
});
const startMs = Date.parse('2026-03-01T00:00:00Z');
const task: ReceiverTask = {
  source: 'receivers',
  station: 'T01',
  manner: 'mask 10',
  frame,
  maskDeg: 10,
  channels: new Map(),
};
const c = 299_792_458;
const [f1, f2, f5] = [1575.42e6, 1227.6e6, 1176.45e6] as const;

function tally(epochs: Iterable<ObservationEpoch>, more: Partial<ReceiverTask> = {}): TrackingRow[] {
  const rows: TrackingRow[] = [];
  const own = new ReceiverTally({ ...task, ...more }, (row) => rows.push(row));
  for (const epoch of epochs) own.take(epoch);
  own.end();
  return rows;
}

interface Planted {
  /** Cycles added to the phases from an epoch on. */
  readonly slips?: readonly (readonly [epoch: number, onFirst: number, onSecond: number])[];
  readonly codeNoise?: number;
  readonly intervalS?: number;
  readonly missing?: (epoch: number) => boolean;
}

/** Ranges of a satellite with an ionosphere that changes by up to a millimetre a second, phases with 2 mm of noise. */
function satelliteAt(
  random: Source,
  { slips = [], codeNoise = 0.3, intervalS = 30 }: Planted,
): (i: number) => SignalObservation[] {
  const start = 1e3 * random.uniform();
  const drift = 0.001 * (2 * random.uniform() - 1);
  return (i) => {
    const t = i * intervalS;
    const range = 22e6 + 300 * t + 5e4 * Math.sin(t / 7000 + start);
    const ionosphere = 3 + drift * t + 0.3 * Math.sin(t / 900 + start);
    const [n1, n2] = slips.reduce(([a, b], [at, x, y]) => (i >= at ? [a + x, b + y] : [a, b]), [1e6, -3e5]);
    const delay = (f: number): number => ionosphere * (f1 / f) ** 2;
    const phase = (f: number, cycles: number): number =>
      ((range - delay(f) + 0.002 * random.normal()) * f) / c + cycles;
    const code = (f: number): number => range + delay(f) + codeNoise * random.normal();
    return [
      { signal: '1C', code: code(f1), phase: phase(f1, n1), cn0: 45, lostLock: false },
      { signal: '2W', code: code(f2), phase: phase(f2, n2), cn0: 35, lostLock: false },
      { signal: '5Q', code: code(f5), cn0: 50, lostLock: false },
    ];
  };
}

function* epochsOf(
  satellites: Readonly<Record<string, (i: number) => SignalObservation[]>>,
  n: number,
  { intervalS = 30, missing = () => false }: Planted = {},
): Generator<ObservationEpoch> {
  for (let i = 0; i < n; i++)
    if (!missing(i))
      yield {
        timeMs: startMs + 1000 * intervalS * i,
        powerFailed: false,
        satellites: Object.entries(satellites).map(([satellite, at]) => ({ satellite, signals: at(i) })),
      };
}

const slipsIn = (rows: readonly TrackingRow[]): number =>
  rows.filter((r) => r.signal === '').reduce((s, r) => s + r.slips, 0);

describe('slips of the carrier (planted truth)', () => {
  test('are found in 19 of 20 and more, on one band or both, and none are where none are', () => {
    const random = source(71);
    for (let k = 0; k < 50; k++) random.normal();
    let found = 0;
    let planted = 0;
    let still = 0;
    const kinds = [[1, 0], [0, 1], [1, 1], [-1, 2], [9, 7], [77, 60], [100, -40]] as const; // prettier-ignore
    for (let run = 0; run < 140; run++) {
      const kind = kinds[run % kinds.length]!;
      const at = 40 + Math.floor(60 * random.uniform());
      found += Math.min(
        1,
        slipsIn(tally(epochsOf({ G05: satelliteAt(random, { slips: [[at, ...kind]] }) }, 120))),
      );
      planted++;
      still += slipsIn(tally(epochsOf({ G05: satelliteAt(random, {}) }, 120)));
    }
    expect(found / planted).toBeGreaterThan(0.95);
    // 140 hours of one satellite: fewer than one in ten hours.
    expect(still).toBeLessThan(14);
  });

  test('the mark of the receiver counts, a gap does not', () => {
    const random = source(5);
    const plain = satelliteAt(random, {});
    const marked = (i: number): SignalObservation[] =>
      plain(i).map((s) => (i === 50 && s.signal === '1C' ? { ...s, lostLock: true } : s));
    const rows = tally(epochsOf({ G05: marked }, 100));
    expect(slipsIn(rows)).toBe(1);
    expect(rows.find((r) => r.signal === 'G1C')!.slips).toBe(1);
    expect(rows.find((r) => r.signal === 'G2W')!.slips).toBe(0);
    const gap = satelliteAt(random, { slips: [[40, 1234, 567]] });
    expect(slipsIn(tally(epochsOf({ G05: gap }, 100, { missing: (i) => i >= 30 && i < 40 })))).toBe(0);
  });
});

describe('multipath of the code', () => {
  test('is its planted noise, for every signal, whatever the ionosphere does', () => {
    const random = source(9);
    for (let k = 0; k < 50; k++) random.normal();
    const rows = tally(
      epochsOf({ G05: satelliteAt(random, {}), G07: satelliteAt(random, { slips: [[200, 5, 3]] }) }, 480),
    );
    for (const signal of ['G1C', 'G2W', 'G5Q']) {
      const own = rows.filter((r) => r.signal === signal);
      expect(own).toHaveLength(4);
      for (const { multipath } of own) expect(Math.abs(multipath / 0.3 - 1)).toBeLessThan(0.12);
    }
  });

  test('is not told of one band', () => {
    const random = source(3);
    const one = satelliteAt(random, {});
    const rows = tally(epochsOf({ G05: (i) => one(i).slice(0, 1) }, 100));
    expect(rows.find((r) => r.signal === 'G1C')!.multipath).toBeNaN();
  });
});

describe('what was tracked', () => {
  const over = frame.toGeocentric({ east: 0, north: 0, up: 2e7 });
  const low = frame.toGeocentric({ east: 2.2e7, north: 0, up: 2.2e7 * Math.tan(radians(5)) });
  const high = frame.toGeocentric({ east: 0, north: 1e7, up: 1.8e7 });
  const fixedAt =
    (p: typeof over): Orbit =>
    () =>
      p;
  const orbitOf = (satellite: string, p: typeof over, healthy = true): KnownOrbit => ({
    satellite,
    fromMs: startMs - 1e9,
    toMs: startMs + 1e9,
    referenceMs: startMs,
    healthy,
    orbit: fixedAt(p),
  });
  const sky = new SkyPositions([
    orbitOf('G05', over),
    orbitOf('G06', high),
    orbitOf('G07', low),
    orbitOf('G08', over, false),
    orbitOf('E11', high),
  ]);

  test('is set against the healthy satellites above the mask', () => {
    const random = source(1);
    const own = satelliteAt(random, {});
    const rows = tally(epochsOf({ G05: own, G07: own }, 120, { missing: (i) => i >= 60 && i < 70 }), { sky });
    const gps = rows.find((r) => r.signal === 'G')!;
    expect(gps).toMatchObject({
      epochs: 110,
      satellites: 'G05 G07',
      tracked: 220,
      above: 110,
      expected: 220,
    });
    expect(rows.find((r) => r.signal === 'E')).toMatchObject({ tracked: 0, expected: 110, satellites: '' });
    expect(rows.find((r) => r.signal === '')).toMatchObject({
      tracked: 220,
      above: 110,
      expected: 330,
      intervalMs: 30_000,
    });
    expect(rows.find((r) => r.signal === 'G1C')!.cn0).toBe(45);
  });

  test('without orbits nobody knows what was expected', () => {
    const own = satelliteAt(source(1), {});
    const rows = tally(epochsOf({ G05: own }, 10));
    expect(rows.map((r) => [r.signal, r.above, r.expected])).toEqual(
      ['', 'G', 'G1C', 'G2W', 'G5Q'].map((s) => [s, Number.NaN, Number.NaN]),
    );
  });
});

test('what a receiver says of its sky: strength, fixes, dilution, and what stood above the mask', () => {
  const rows: TrackingRow[] = [];
  const own = new SkyTally(
    { source: 'receivers', station: 'T01', manner: 'mask 10', maskDeg: 10, qualities: [4] },
    (row) => rows.push(row),
  );
  for (let i = 0; i < 4; i++)
    own.take({
      timeMs: startMs + 600_000 * i,
      quality: i === 3 ? 5 : 4,
      pdop: 1.5 + 0.1 * i,
      satellites: [
        { satellite: 'G05', signal: '1C', elevationDeg: 40, cn0: 44 },
        { satellite: 'G05', signal: '2L', elevationDeg: 40, cn0: 40 },
        { satellite: 'G06', signal: '1C', elevationDeg: 30 },
        { satellite: 'G07', signal: '1C', elevationDeg: 5, cn0: 30 },
        { satellite: 'E02', signal: '', elevationDeg: 20, cn0: 41 },
      ],
    });
  own.end();
  const of = (signal: string): TrackingRow => rows.find((r) => r.signal === signal)!;
  expect(of('')).toMatchObject({
    epochs: 4,
    intervalMs: 600_000,
    positions: 4,
    fixed: 3,
    tracked: 12,
    above: 8,
    expected: 12,
  });
  expect(of('').pdop).toBeCloseTo(1.65, 12);
  expect(of('G')).toMatchObject({ satellites: 'G05 G07', tracked: 8, above: 4, expected: 8 });
  expect(of('G1C')).toMatchObject({ satellites: 'G05 G07', cn0: 37 });
  expect(of('E')).toMatchObject({ satellites: 'E02', cn0: 41 });
});

describe('what observations have that is unusual', () => {
  test('slips and multipath are looked for at the spacing that is there, not at the one that is declared', () => {
    const random = source(12);
    for (let k = 0; k < 50; k++) random.normal();
    const slipped = satelliteAt(random, { slips: [[50, 5, 0]] });
    const rows = tally(epochsOf({ G05: slipped }, 100), { intervalMs: 1000 });
    expect(slipsIn(rows)).toBe(1);
    expect(rows.find((r) => r.signal === 'G1C')!.multipath).toBeGreaterThan(0.2);
  });

  test('of three bands the two furthest apart are taken: near ones show the noise of the phases a hundredfold', () => {
    const random = source(13);
    for (let k = 0; k < 50; k++) random.normal();
    const bands = [['1P', 1575.42e6], ['2I', 1561.098e6], ['6I', 1268.52e6]] as const; // prettier-ignore
    const at = (i: number): SignalObservation[] => {
      const range = 22e6 + 9000 * i;
      return bands.map(([signal, f]) => ({
        signal,
        code: range,
        phase: ((range + 0.002 * random.normal()) * f) / c,
        lostLock: false,
      }));
    };
    const rows = tally(epochsOf({ C30: at }, 100));
    for (const name of ['C1P', 'C2I', 'C6I'])
      expect(rows.find((r) => r.signal === name)!.multipath).toBeLessThan(0.04);
    // Alone the two near ones tell nothing.
    const near = tally(epochsOf({ C30: (i) => at(i).slice(0, 2) }, 100));
    expect(near.find((r) => r.signal === 'C1P')!.multipath).toBeNaN();
  });

  test('a power failure ends the arcs, and keeps what they showed', () => {
    const random = source(14);
    for (let k = 0; k < 50; k++) random.normal();
    const one = satelliteAt(random, {});
    const epochs = [...epochsOf({ G05: one }, 100)].map((e, i) => ({ ...e, powerFailed: i === 60 }));
    expect(tally(epochs).find((r) => r.signal === 'G1C')!.multipath).toBeGreaterThan(0.2);
  });
});

test('satellites that are told more seldom than positions are counted at their own times', () => {
  const rows: TrackingRow[] = [];
  const own = new SkyTally(
    { source: 'receivers', station: 'T01', manner: 'mask 10', maskDeg: 10, qualities: [4] },
    (row) => rows.push(row),
  );
  const satellites = Array.from({ length: 20 }, (_, i) => ({
    satellite: `G${String(i + 1).padStart(2, '0')}`,
    signal: '1C',
    elevationDeg: 40,
    cn0: 44,
  }));
  for (let i = 0; i < 60; i++)
    own.take({ timeMs: startMs + 1000 * i, quality: 4, satellites: i % 5 === 0 ? satellites : [] });
  own.end();
  expect(rows.find((r) => r.signal === '')).toMatchObject({
    epochs: 12,
    tracked: 240,
    positions: 60,
    intervalMs: 5000,
  });
});
