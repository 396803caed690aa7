import type {
  HeightDependence,
  PairRecord,
  ResponseRecord,
  StatementSettings,
  StationRecord,
} from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  againstSentence,
  heightSentence,
  lessHeadline,
  lessSentence,
  responseCheckText,
  responseSentences,
  waveText,
  ZoneClock,
} from './index.ts';

const plain = (text: string | undefined): string => (text ?? '').replaceAll('\u202f', ' ');
const clock = new ZoneClock('UTC');
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 21_600_000,
  statementMs: 86_400_000,
  rateMs: 2_592_000_000,
};
const covariate = { sensor: 'water', what: 'reservoir level', unit: 'm', low: 294.2, high: 303.2 };
const base = {
  from: '2025-09-01T00:00:00Z',
  to: '2026-05-20T00:00:00Z',
  covariates: [covariate],
  checks: [],
} as unknown as ResponseRecord;
const moved = {
  magnitude_mm: 16.9,
  plusMinus_mm: 2.2,
  azimuthDeg: 164,
  distinguishable: true,
  detectable_mm: 4.2,
};
const corrected = {
  horizontal: moved,
  up: { value_mm: -4.5, plusMinus_mm: 4.7, distinguishable: false, detectable_mm: 10.4 },
  today: [{ sensor: 'water', value: 307, change: 12, extrapolated: true }],
};
const commitment = { by: 'survey office', committed: '2026-05-21T09:00:00Z' };

describe('natural response', () => {
  test('committed: what is left of the displacement, and a log outside its range', () => {
    const text = responseSentences(
      { ...base, commitment, corrected } as unknown as ResponseRecord,
      settings,
      clock,
    );
    expect(text.map(plain)).toEqual([
      'Its response to reservoir level was committed from 1 September 2025 to 19 May 2026 and is frozen. Less that, it has moved 16.9 mm ± 2.2 mm (95 %) toward 164°.',
      'Extrapolated: reservoir level stands at 307.0 m, outside 294.2 to 303.2 m, from which the response was learnt.',
    ]);
    const still = { ...corrected, horizontal: { ...moved, distinguishable: false }, today: [] };
    expect(
      plain(
        responseSentences(
          { ...base, commitment, corrected: still } as unknown as ResponseRecord,
          settings,
          clock,
        )[0],
      ),
    ).toMatch(
      /Less that, no movement is distinguishable; 4.2 mm horizontally or 10 mm up or down would have been seen in 8 of 10 cases\.$/,
    );
  });

  test('committed and not applicable: why; not committed: that it stands in no figure, and what speaks against it', () => {
    expect(responseSentences({ ...base, commitment, reason: 'the logs end' }, settings, clock)[0]).toMatch(
      /The displacement less it cannot be stated, because the logs end\.$/,
    );
    const check = {
      check: 'confounding',
      of: 'reservoir level',
      unit: '',
      value: 0.97,
      limit: 0.9,
      verdict: 'not yet',
    } as const;
    expect(responseSentences({ ...base, checks: [check] }, settings, clock)).toEqual([
      'What reservoir level does is looked at over 1 September 2025 to 19 May 2026; no response is committed, so this stands in no figure.',
      'It cannot be committed from this span: what reservoir level does cannot well be told from a lasting movement: the two estimates are correlated by 0.97, at most 0.9 may be.',
    ]);
    expect(responseCheckText({ check: 'windows', unit: '%', value: 61, limit: 80, verdict: 'fail' })).toBe(
      '61 % of its means have a position and every log, 80 % are needed',
    );
    expect(
      responseCheckText({ check: 'lag', of: 'warmth', unit: 'd', value: 10, limit: 10, verdict: 'fail' }),
    ).toBe('the lag at which warmth explains most, 10.0 days, is the longest that was looked at');
  });
});

test('waves are told with their time where they are there', () => {
  const wave = { amplitude_mm: 3.04, plusMinus_mm: 0.41, peakMs: 51_600_000, p: 0.0001 };
  expect(waveText(wave, true)).toBe('3.04 ± 0.41, highest at 14:20 UTC');
  expect(waveText(wave, false)).toBe('3.04 ± 0.41');
  expect(waveText({ ...wave, p: 0.3 }, true)).toBe('not sure (3.04 ± 0.41, p 0.30)');
});

test('up against height: a yearly wave looks like temperature, and before a year nothing is said of it', () => {
  const height: HeightDependence = {
    stream: 'a',
    stations: 6,
    heightSpan_m: 250,
    days: 400,
    scatter_mm: 1.9,
    expected_mm: 1.2,
  };
  expect(plain(heightSentence(height, 'B1'))).toMatch(
    /^Up of 6 stations seen from B1, over 250 m of height: from day to day 1.9 mm in 100 m/,
  );
  expect(plain(heightSentence(height, undefined))).toMatch(/in stream a.*Nothing is said of the season/);
  const annual = { amplitude_mm: 3, plusMinus_mm: 0.5, peakDay: 196 };
  expect(plain(heightSentence({ ...height, annual }, 'B1'))).toMatch(
    /a yearly wave of 3.00 mm ± 0.50 mm in 100 m, highest in mid July/,
  );
  expect(plain(heightSentence({ ...height, annual: { ...annual, amplitude_mm: 0.2 } }, 'B1'))).toMatch(
    /no yearly wave is distinguishable/,
  );
});

test('a pair is told by what was found, or by what would have been seen', () => {
  const figure = (value: number, found: boolean) => ({
    value_mm: value,
    plusMinus_mm: 1.1,
    distinguishable: found,
    detectable_mm: 2.4,
  });
  const pair = (distance: unknown, settlement: unknown): PairRecord =>
    ({ from: 'T1', to: 'T2', statement: { distance, settlement } }) as unknown as PairRecord;
  expect(plain(againstSentence(pair(figure(-8, true), figure(-12, true)), settings))).toBe(
    'T1 and T2: their distance has shrunk by 8.0 mm ± 1.1 mm and T2 has settled against T1 by 12.0 mm ± 1.1 mm (95 %).',
  );
  expect(plain(againstSentence(pair(figure(0.2, false), figure(0, false)), settings))).toBe(
    'T1 and T2: no change is distinguishable; 2.4 mm of distance or 2.4 mm of settlement would have been seen in 8 of 10 cases.',
  );
  expect(againstSentence({ from: 'T1', to: 'T2', reason: 'T2 is silent' } as PairRecord, settings)).toBe(
    'T1 and T2 cannot be compared, because T2 is silent.',
  );
});

test('over the whole site: what has moved by more than committed responses explain; what is only looked at does not count', () => {
  const station = (id: string, horizontal: boolean, up: boolean, committed = true): unknown => ({
    id,
    role: 'monitoring',
    response: {
      ...(committed ? { commitment: { by: 'x', committed: '2026-01-01T00:00:00Z' } } : {}),
      corrected: { horizontal: { distinguishable: horizontal }, up: { distinguishable: up } },
    },
  });
  const told = (...stations: unknown[]): string | undefined =>
    lessSentence({ stations: stations as StationRecord[], settings })?.replaceAll('\u202f', ' ');
  expect(told(station('A', true, false), station('B', false, true), station('C', false, false))).toBe("Less what logs explain, by committed responses (chance of a wrong 'moved' among them about 5 %): A and B have moved, and at C no movement is distinguishable."); // prettier-ignore
  expect(told(station('C', false, false))).toContain('): at C no movement is distinguishable.');
  expect(told(station('A', true, true, false))).toBeUndefined();
});

test('the headline says so where committed responses make another list of what moved', () => {
  const station = (id: string, moved: boolean): unknown => ({
    id,
    role: 'monitoring',
    response: {
      commitment: {},
      corrected: { horizontal: { distinguishable: moved }, up: { distinguishable: false } },
    },
  });
  const told = (measured: string[], ...stations: unknown[]): string | undefined =>
    lessHeadline({ stations: stations as StationRecord[], headline: { moved: measured, still: [], open: [], doubted: [], tests: 4 } }); // prettier-ignore
  expect(told(['A'], station('A', true), station('B', false))).toBeUndefined();
  expect(told(['A'], station('A', false), station('B', true))).toBe(
    'That is as measured: less what logs explain, B has moved.',
  );
  expect(told(['A'], station('A', false))).toBe(
    'That is as measured: less what logs explain, A has not moved.',
  );
  // Of a station without a response nothing is said here.
  expect(told(['C'], station('A', false))).toBeUndefined();
});
