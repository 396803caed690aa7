import type { CheckRecord, ReadinessRecord, StatementSettings, TrajectoryRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { changeSentence, checkText, readinessSentence, velocitySentence, ZoneClock } from './index.ts';

/** Thin spaces as plain ones, so that expectations can be read. */
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

describe('velocity', () => {
  const trajectory = (moves: boolean): { trajectory: TrajectoryRecord } => ({
    trajectory: {
      velocity: {
        from: '2025-08-25T00:00:00Z',
        to: '2026-11-23T00:00:00Z',
        horizontal: {
          magnitude_mm: 11.7,
          plusMinus_mm: 1.3,
          azimuthDeg: 165,
          detectable_mm: 2.8,
          distinguishable: moves,
        },
        up: { value_mm: -3.1, plusMinus_mm: 1.8, detectable_mm: 3.9, distinguishable: moves },
      },
    } as unknown as TrajectoryRecord,
  });

  test('is told with its uncertainty and its span; without one, with what would have been seen', () => {
    expect(plain(velocitySentence(trajectory(true), settings, clock))).toBe(
      'Over all its time, 25 August 2025 to 22 November 2026, it moved by 11.7 mm ± 1.3 mm (95 %) toward 165° and 3.1 mm ± 1.8 mm (95 %) down a year on average.',
    );
    expect(plain(velocitySentence(trajectory(false), settings, clock))).toBe(
      'Over all its time, 25 August 2025 to 22 November 2026, no lasting movement is distinguishable; 2.8 mm horizontally or 3.9 mm up or down a year would have been seen in 8 of 10 cases.',
    );
    expect(velocitySentence({}, settings, clock)).toBeUndefined();
  });
});

describe('changes that no event names', () => {
  const change = {
    kind: 'step',
    at: '2026-04-14T00:00:00Z',
    earliest: '2026-04-13T00:00:00Z',
    latest: '2026-04-15T00:00:00Z',
    p: 1e-6,
    east_mm: 3,
    north_mm: -4,
    up_mm: -0.5,
    eastPlusMinus_mm: 1,
    northPlusMinus_mm: 1,
    upPlusMinus_mm: 2,
  } as const;

  test('a step is told as movement, a rate as more or less than before', () => {
    expect(plain(changeSentence(change, settings, clock))).toBe(
      'A step that no event names, about 14 April 2026 (between 13 April 2026 and 15 April 2026): 5.0 mm ± 1.0 mm (95 %) toward 143°. It stands in the figures as movement.',
    );
    expect(
      plain(
        changeSentence(
          { ...change, kind: 'rate', earliest: change.at, latest: change.at, up_mm: -9 },
          settings,
          clock,
        ),
      ),
    ).toBe(
      'From about 14 April 2026 on it moves at another rate: by 5.0 mm ± 1.0 mm (95 %) toward 143° and 9.0 mm ± 2.0 mm (95 %) down a year more than before.',
    );
  });
});

describe('evidence for a reference period', () => {
  const checks: CheckRecord[] = [
    { check: 'span', unit: 'd', value: 9, limit: 14, verdict: 'not yet' },
    { check: 'windows', unit: '%', value: 100, limit: 80, verdict: 'pass' },
    { check: 'cycle', of: 'Galileo', unit: '%', value: 88.7, limit: 90, verdict: 'not yet' },
  ];
  const readiness: ReadinessRecord = {
    from: '2026-11-14T00:00:00Z',
    to: '2026-11-23T00:00:00Z',
    ready: false,
    readyAt: '2026-11-28T00:00:00Z',
    checks,
    hours: [],
    running: { day: [], horizontal_mm: [], up_mm: [] },
  };

  test('what is lacking is told, and from when it can be there', () => {
    expect(plain(readinessSentence('T12', readiness, false, clock))).toBe(
      "T12 is not ready: it spans 9.0 of 14 days and 89 % of the repeat cycle of Galileo were observed, 90 % are needed. At today's completeness it can be ready on 28 November 2026.",
    );
    expect(plain(readinessSentence('T12', { ...readiness, ready: true, checks: [] }, false, clock))).toBe(
      'T12 is ready: its reference position can be committed.',
    );
    expect(plain(readinessSentence('T01', readiness, true, clock))).toMatch(
      /^T01: of the evidence for its reference period, it spans/,
    );
  });

  test.each([
    [{ check: 'hours', unit: 'h', value: 22, limit: 24 }, '22 of 24 sidereal hours were observed'],
    [
      { check: 'settled', of: 'up', unit: 'mm', value: 5.12, limit: 4 },
      'its running mean (up) moved by 5.1 mm in the last three days, at most 4.0 mm may be',
    ],
    [{ check: 'settled', unit: 'mm', limit: 2 }, 'its running mean has not had six days to come to rest'],
    [{ check: 'drift', unit: 'mm in 30 d', limit: 0 }, 'its windows are too few to tell a drift'],
    [{ check: 'steps', unit: '', value: 1, limit: 0 }, 'it holds 1 step that is no movement'],
  ] as const)('%j', (check, text) => expect(plain(checkText({ ...check, verdict: 'fail' }))).toBe(text));
});
