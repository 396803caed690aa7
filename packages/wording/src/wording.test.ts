import type { DisplacementStatement, Snapshot, StationRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  decimalsFor,
  formatAzimuth,
  formatNumber,
  formatP,
  formatSpan,
  formatWithUncertainty,
  chanceSentence,
  doubtedBases,
  headlineSentence,
  list,
  networkSentences,
  rateSentence,
  stationSentence,
  stillSentence,
  tieSentence,
  ZoneClock,
} from './index.ts';

/** Thin spaces as plain ones, so that expectations can be read. */
const plain = (text: string): string => text.replaceAll('\u202f', ' ');

describe('numbers', () => {
  test.each([
    [1.9, 1],
    [12.4, 0],
    [0.234, 2],
    [0.996, 1],
    [9.96, 0],
    [99.6, 0],
    [0.0123, 3],
    [0, 1],
    [Number.NaN, 1],
  ])('an uncertainty of %f shows %i decimals', (uncertainty, decimals) =>
    expect(decimalsFor(uncertainty)).toBe(decimals),
  );

  test('the value matches its uncertainty, the minus sign is true, zero has no sign', () => {
    expect(plain(formatWithUncertainty(-6.24, 1.87))).toBe('\u22126.2 mm ± 1.9 mm');
    expect(plain(formatWithUncertainty(143.7, 21.2))).toBe('144 mm ± 21 mm');
    expect(formatNumber(-0.04, 1)).toBe('0.0');
    expect(plain(formatNumber(-1234567.8, 1))).toBe('\u22121 234 567.8');
    expect(formatNumber(1234, 0)).toBe('1234');
  });

  test('directions lie between 0 and 359 degrees, p-values are never printed as zero', () => {
    expect(formatAzimuth(359.7)).toBe('0°');
    expect([0.5, 0.0339, 0.00041, 1e-12].map(formatP)).toEqual(['0.50', '0.034', '0.0004', '< 0.0001']);
  });

  test('lists read as in speech', () => {
    expect([[], ['A'], ['A', 'B'], ['A', 'B', 'C']].map(list)).toEqual(['', 'A', 'A and B', 'A, B and C']);
  });
});

describe('times', () => {
  const vienna = new ZoneClock('Europe/Vienna');
  const ms = (text: string): number => Date.parse(text);

  test('the offset is that of the instant, not of today', () => {
    expect(vienna.dateTime(ms('2026-03-29T00:30:00Z'))).toBe('29 March 2026, 01:30 UTC+01:00');
    expect(vienna.dateTime(ms('2026-03-29T01:30:00Z'))).toBe('29 March 2026, 03:30 UTC+02:00');
    expect(new ZoneClock('America/St_Johns').dateTime(ms('2026-01-01T00:00:00Z'))).toBe(
      '31 December 2025, 20:30 UTC\u221203:30',
    );
    expect(new ZoneClock('UTC').dateTime(ms('2026-01-01T00:00:00Z'))).toBe('1 January 2026, 00:00 UTC');
  });

  test('a span names its first and its last day', () => {
    const utc = new ZoneClock('UTC');
    expect(utc.days(ms('2026-03-01T00:00:00Z'), ms('2026-03-29T00:00:00Z'))).toBe('1 to 28 March 2026');
    expect(utc.days(ms('2026-02-20T00:00:00Z'), ms('2026-03-05T12:00:00Z'))).toBe(
      '20 February to 5 March 2026',
    );
    expect(utc.days(ms('2025-12-20T00:00:00Z'), ms('2026-01-05T00:00:00Z'))).toBe(
      '20 December 2025 to 4 January 2026',
    );
    expect(utc.days(ms('2026-03-01T00:00:00Z'), ms('2026-03-02T00:00:00Z'))).toBe('1 March 2026');
  });

  test('spans of time', () => {
    expect([3_600_000, 21_600_000, 86_400_000, 1_209_600_000, 300_000, 5_400_000].map(formatSpan)).toEqual([
      '1 h',
      '6 h',
      '24 h',
      '14 days',
      '5 min',
      '90 min',
    ]);
  });
});

const settings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 21_600_000,
  statementMs: 86_400_000,
  rateMs: 30 * 86_400_000,
};
const clock = new ZoneClock('UTC');

function displaced(horizontal: boolean, up: boolean): DisplacementStatement {
  return {
    kind: 'displacement',
    window: { from: '2026-05-09T00:00:00Z', to: '2026-05-10T00:00:00Z', epochs: 24, windows: 4 },
    east_mm: 6.9,
    north_mm: -9.1,
    up_mm: -4.4,
    covariance_mm2: { ee: 1, en: 0, nn: 1, uu: 4 },
    horizontal: {
      magnitude_mm: 11.42,
      azimuthDeg: 142.8,
      plusMinus_mm: 2.13,
      degreesOfFreedom: 20,
      statistic: 9,
      p: 0.001,
      pAdjusted: 0.003,
      distinguishable: horizontal,
      detectable_mm: 3.84,
      ellipse: { semiMajor_mm: 2.5, semiMinor_mm: 2.5, azimuthDeg: 0 },
    },
    up: {
      value_mm: -4.4,
      plusMinus_mm: 3.9,
      degreesOfFreedom: 20,
      p: 0.02,
      pAdjusted: 0.08,
      distinguishable: up,
      detectable_mm: 8.15,
    },
    noise: {} as DisplacementStatement['noise'],
  };
}

const station = (
  statement: StationRecord['statement'],
  more: Partial<StationRecord> = {},
): StationRecord => ({
  id: 'S2',
  role: 'monitoring',
  on: 'slope',
  position: { latitudeDeg: 46, longitudeDeg: 9, height_m: 800, east_m: 0, north_m: 0, up_m: 0 },
  stream: {
    name: 'main',
    kind: 'relative',
    base: 'B1',
    solution: 'epoch-wise',
    baselineLength_m: 500,
    heightDifference_m: 20,
  },
  ties: [],
  others: [],
  reference: {
    from: '2026-03-01T00:00:00Z',
    to: '2026-03-29T00:00:00Z',
    by: 'A',
    committed: '2026-03-30T00:00:00Z',
    windows: 112,
    epochs: 672,
  },
  statement,
  ...more,
});

describe('sentences on a station', () => {
  test.each<[StationRecord['statement'], string]>([
    [
      displaced(true, false),
      'S2 has moved 11.4 mm ± 2.1 mm (95 %) toward 143° against its reference position of 1 to 28 March 2026; up or down, no movement is distinguishable: 8.2 mm would have been seen in 8 of 10 cases.',
    ],
    [
      displaced(true, true),
      'S2 has moved 11.4 mm ± 2.1 mm (95 %) toward 143° and 4.4 mm ± 3.9 mm (95 %) down against its reference position of 1 to 28 March 2026.',
    ],
    [
      displaced(false, true),
      'S2 has moved 4.4 mm ± 3.9 mm (95 %) down against its reference position of 1 to 28 March 2026; horizontally, no movement is distinguishable: 3.8 mm would have been seen in 8 of 10 cases.',
    ],
    [
      displaced(false, false),
      'S2: no movement distinguishable against its reference position of 1 to 28 March 2026; 3.8 mm horizontally or 8.2 mm up or down would have been seen in 8 of 10 cases.',
    ],
    [
      { kind: 'establishing', observedDays: 9.4, neededDays: 14 },
      'S2 is not ready: 9 of 14 days observed, and no reference position is committed.',
    ],
    [
      { kind: 'establishing', observedDays: 20.4, neededDays: 14 },
      'S2 has been observed for 20 days, but no reference position is committed.',
    ],
    [
      { kind: 'not-statable', reason: 'the observations do not vary' },
      'S2 cannot be stated, because the observations do not vary.',
    ],
    [{ kind: 'no-data' }, 'S2 has no positions.'],
    [
      { kind: 'held' },
      'S2 is held at given coordinates: its own movement cannot be seen in positions that are computed from it.',
    ],
  ])('%#', (statement, sentence) =>
    expect(plain(stationSentence(station(statement), settings, clock))).toBe(sentence),
  );
});

describe('sentences on the network', () => {
  type Pairs = Snapshot['network']['pairs'];
  const pair = (held: string, seen: string, stream = 'main'): Pairs[number] => ({ held, seen, stream });
  const snapshot = (
    headline: Partial<Snapshot['headline']>,
    stations: StationRecord[],
    pairs: Pairs,
    held = ['B1'],
  ): Snapshot =>
    ({
      headline: { moved: [], still: [], open: [], doubted: [], tests: 0, ...headline },
      stations,
      settings,
      network: { held, pairs, decisions: [] },
    }) as unknown as Snapshot;
  const trust = (...args: Parameters<typeof snapshot>): string =>
    plain(networkSentences(snapshot(...args)).join(' '));
  const base = (id: string, moved: boolean, more: Partial<StationRecord> = {}): StationRecord =>
    station(displaced(moved, false), { id, role: 'base', ...more });

  test('what moved comes with what did not, and what is open or silent', () => {
    const text = plain(
      headlineSentence(
        snapshot({ moved: ['S2'], still: ['S1'], open: ['S3'], doubted: [], tests: 6 }, [], []),
      ),
    );
    expect(text).toBe('S2 has moved. At S1 no movement is distinguishable. Of S3 nothing can be stated yet.');
    const silent = snapshot(
      { moved: ['S2'], open: ['S1', 'S3'] },
      [station({ kind: 'no-data' }, { id: 'S1' })],
      [],
    );
    expect(headlineSentence(silent)).toBe(
      'S2 has moved. S1 sends no data at present. Of S3 nothing can be stated yet.',
    );
    expect(plain(chanceSentence(snapshot({ tests: 6 }, [base('B2', false)], [])))).toBe(
      "Chance of a wrong 'moved' anywhere among the 6 figures that are tested together, those of B2 included: about 5 %.",
    );
  });

  test('a station that is not displaced but moves is told apart', () => {
    const s = displaced(false, false);
    const moving = station(
      { ...s, rate: { ...displaced(true, false), from: '', to: '', perDays: 30 } },
      { id: 'S1' },
    );
    const told = snapshot({ still: ['S1', 'S4'] }, [moving], []);
    expect(headlineSentence(told)).toBe(
      'At S1 a rate is distinguishable, though no displacement yet. At S4 no movement is distinguishable.',
    );
    expect(rateSentence(moving, settings)).toMatch(/^Yet over the last 30 days it moved at/);
    expect(stillSentence(told)).toBeUndefined();
  });

  test('where nothing is stated the page does not say that nothing moved', () => {
    const text = headlineSentence(snapshot({ open: ['S1', 'S2', 'S3'] }, [], []));
    expect(text).toMatch(/^Nothing can be said yet: none of 3 monitoring stations/);
  });

  test('a second base that seems to move puts everything in doubt', () => {
    const text = trust({}, [base('B2', true)], [pair('B1', 'B2')]);
    expect(text).toContain('Seen from B1, B2 seems to have moved 11.4 mm ± 2.1 mm (95 %) toward 143°.');
    expect(text).toContain('cannot say which of the two moves');
    expect(text).toContain('a third base or a check survey');
  });

  test('a second base that is not seen to move comes with what would have been seen', () => {
    expect(trust({}, [base('B2', false)], [pair('B1', 'B2')])).toContain(
      'no movement of B2 is distinguishable; 3.8 mm horizontally or 8.2 mm up or down between the two would have been seen in 8 of 10 cases.',
    );
  });

  test('of three bases, two changed pairs and one unchanged speak for the base they share, and for no more', () => {
    const { stream } = station({ kind: 'no-data' });
    const seenFromB2 = { ...base('B3', true), stream: { ...stream!, name: 'second', base: 'B2' } };
    const text = trust(
      {},
      [base('B2', true), { ...base('B3', false), others: [seenFromB2] }],
      [pair('B1', 'B2'), pair('B1', 'B3'), pair('B2', 'B3', 'second')],
      ['B1', 'B2'],
    );
    expect(text).toContain('this speaks for B2 as the one that moves, though B1 and B3 moving together');
    expect(text).toContain('Figures computed from B2 are in doubt until then.');
    expect(stationSentence(base('B2', true), settings, clock)).toMatch(
      /^B2, seen from B1, seems to have moved/,
    );
    expect(text).not.toContain('third base');
  });

  test('a disagreement of bases is in the answer at the head of the page', () => {
    const two = snapshot({ still: ['S1'] }, [base('B2', true)], [pair('B1', 'B2')]);
    expect(headlineSentence(two)).toBe(
      'At S1 no movement is distinguishable. The bases disagree with each other, so every figure is in doubt.',
    );
    const { stream } = station({ kind: 'no-data' });
    const seenFromB2 = { ...base('B3', true), stream: { ...stream!, name: 'second', base: 'B2' } };
    const three = snapshot(
      { still: ['S1'] },
      [base('B2', true), { ...base('B3', false), others: [seenFromB2] }],
      [pair('B1', 'B2'), pair('B1', 'B3'), pair('B2', 'B3', 'second')],
    );
    expect(headlineSentence(three)).toContain(
      'base B2 seems to move, and figures computed from it are in doubt.',
    );
    expect([two, three].map(doubtedBases)).toEqual([['B1', 'B2'], ['B2']]);
    const none = snapshot({ still: ['S1'] }, [base('B2', false)], [pair('B1', 'B2')]);
    expect(headlineSentence(none)).toBe('At S1 no movement is distinguishable.');
  });

  test('one changed pair among three bases singles out nobody', () => {
    const text = trust(
      {},
      [base('B2', true), base('B3', false), base('B4', false)],
      [pair('B1', 'B2'), pair('B1', 'B3'), pair('B2', 'B4')],
    );
    expect(text).toContain('do not single out one base');
  });

  test('with one base the page says what cannot be known', () => {
    expect(trust({}, [], [])).toContain('cannot be told from movement of everything');
  });
});

describe('rates and ties', () => {
  const moving = (horizontal: boolean, up: boolean): StationRecord => {
    const s = displaced(true, false);
    const rate = { ...displaced(horizontal, up), from: '', to: '', perDays: 30 };
    return station({ ...s, rate });
  };

  test.each([
    [
      true,
      true,
      'Over the last 30 days it moved at 11.4 mm ± 2.1 mm (95 %) toward 143° and 4.4 mm ± 3.9 mm (95 %) down in 30 days.',
    ],
    [true, false, 'Over the last 30 days it moved at 11.4 mm ± 2.1 mm (95 %) toward 143° in 30 days.'],
    [
      false,
      false,
      'Over the last 30 days no rate is distinguishable; 3.8 mm horizontally or 8.2 mm up or down in 30 days would have been seen in 8 of 10 cases.',
    ],
  ])('%s %s', (horizontal, up, sentence) =>
    expect(plain(rateSentence(moving(horizontal, up), settings)!)).toBe(sentence),
  );

  test('where no rate is stated nothing is said', () => {
    expect(rateSentence(station(displaced(true, true)), settings)).toBeUndefined();
    expect(rateSentence(station({ kind: 'held' }), settings)).toBeUndefined();
  });

  test('a step that is taken off is told with its size and cause', () => {
    const tie = {
      at: '2026-03-12T10:00:00Z',
      what: 'antenna knocked',
      east_mm: 5.4,
      north_mm: 7.2,
      up_mm: -0.44,
      horizontalPlusMinus_mm: 1.21,
      upPlusMinus_mm: 2.3,
    };
    expect(plain(tieSentence(tie, settings, clock))).toBe(
      '12 March 2026, 10:00 UTC, antenna knocked: a step of 9.0 mm ± 1.2 mm (95 %) toward 37° and 0.4 mm ± 2.3 mm (95 %) down is no movement and is taken off.',
    );
  });
});
