import type { ClosureRecord, CommonModeRecord, StatementSettings, SurveyRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { closureSentences, commonSentence, surveySentence, untiedSentence, ZoneClock } from './index.ts';

const plain = (text: string): string => text.replaceAll('\u202f', ' ');
const clock = new ZoneClock('UTC');
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 21_600_000,
  statementMs: 86_400_000,
  rateMs: 2_592_000_000,
};
const common = { east_mm: 4, eastSigma_mm: 0.5, north_mm: 8, northSigma_mm: 0.5, up_mm: 1, upSigma_mm: 1.3 };
const record = (
  hypotheses: CommonModeRecord['hypotheses'],
  others: readonly string[] = ['B1', 'B3'],
): string =>
  plain(commonSentence({ stream: 'from-B2', base: 'B2', others, stations: ['T1', 'T2', 'T3'], hypotheses }));

describe('what explains the movements of a stream', () => {
  test('the base, with the way it moves itself, which is the other one', () => {
    expect(
      record([
        { kind: 'base', alone: ['T1'], weight: 0.96, common },
        { kind: 'structure', alone: [], weight: 0.04, common },
        { kind: 'nothing', alone: [], weight: 0 },
      ]),
    ).toBe(
      'Seen from B2 (from-B2), all stations, and B1 and B3, seem to move together by 8.9 mm ± 1.0 mm toward 27°: so it looks when B2 itself moves by 8.9 mm ± 1.0 mm toward 207°; besides T1 moved alone (probability 0.96; the structure 0.04).',
    );
  });
  test('the structure; nothing at all', () => {
    const structure = { kind: 'structure', alone: [], weight: 1, common } as const;
    const nothing = { kind: 'nothing', alone: [], weight: 0.98 } as const;
    expect(record([structure, nothing])).toContain(
      'the stations of the structure share a movement of 8.9 mm ± 1.0 mm toward 27° while B1 and B3 stay',
    );
    expect(record([nothing, structure])).toBe(
      'Seen from B2 (from-B2), the stations share no movement, and none moved alone (probability 0.98).',
    );
    expect(record([{ ...nothing, alone: ['T1'] }, structure])).toContain('share no movement; T1 moved alone');
  });
  test('without another base it is said what cannot be known, and what would settle it', () => {
    const halves = [
      { kind: 'base', alone: [], weight: 0.5, common },
      { kind: 'structure', alone: [], weight: 0.5, common },
    ] as const;
    expect(record(halves, [])).toMatch(
      /Whether B2 moved or the whole structure cannot be told apart.*check survey of B2 would settle it\.$/,
    );
  });
});

describe('streams of one station against each other', () => {
  const closure = (id: string, found: boolean): ClosureRecord =>
    ({
      id,
      streams: ['from-B1', 'from-B2'],
      east_mm: 0,
      north_mm: 0,
      up_mm: 0,
      horizontal: {
        magnitude_mm: 5.1,
        plusMinus_mm: 0.8,
        azimuthDeg: 90,
        distinguishable: found,
        detectable_mm: 1.4,
      },
      up: { value_mm: 0.2, plusMinus_mm: 2, distinguishable: false, detectable_mm: 3 },
    }) as unknown as ClosureRecord;
  test('what disagrees is told, and that it is no movement', () => {
    const [first, second] = closureSentences([closure('T1', true), closure('T2', false)], settings).map(
      plain,
    );
    expect(first).toContain(
      'Streams from-B1 and from-B2 of T1 disagree by 5.10 mm ± 0.80 mm toward 90° beyond what their bases do',
    );
    expect(second).toBe(
      'Of the other station the streams agree but for what their bases do against each other; 1.4 mm horizontally would have been seen in 8 of 10 cases.',
    );
    expect(closureSentences([], settings)).toEqual([]);
  });
});

test('a check survey, with what positions say of the same', () => {
  const survey: SurveyRecord = {
    at: '2026-10-14T11:00:00Z',
    station: 'B2',
    method: 'levelling',
    by: 'survey office',
    result: 'A millimetre lower.',
    components: [
      { axis: 'up', value_mm: -1.2, plusMinus_mm: 1, ours_mm: 2.2, oursPlusMinus_mm: 4.1, agrees: true },
    ],
  };
  expect(plain(surveySentence(survey, clock))).toBe(
    '14 October 2026, B2, levelling by survey office: A millimetre lower. Found: up −1.2 mm ± 1.0 mm (positions say 2.2 mm ± 4.1 mm: they agree).',
  );
  expect(plain(surveySentence({ ...survey, components: [] }, clock))).toBe(
    '14 October 2026, B2, levelling by survey office: A millimetre lower.',
  );
});

test('a change of the processing that nothing ties', () => {
  expect(untiedSentence('T1', [{ at: '2026-05-03T00:00:00Z', what: 'engine A 1, then A 2' }], clock)).toBe(
    'T1 is in doubt, since its processing changed on 3 May 2026 (engine A 1, then A 2) and no event ties what was before and after.',
  );
});
