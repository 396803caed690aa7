import type { Snapshot, StatementSettings } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  decisionSentence,
  doubtedBases,
  doubtedSentence,
  headlineSentence,
  ontoSentence,
  stabilitySentences,
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
const horizontal = {
  magnitude_mm: 9.5,
  plusMinus_mm: 1.5,
  azimuthDeg: 205,
  distinguishable: true,
  detectable_mm: 3.2,
};
const up = { value_mm: -1.6, plusMinus_mm: 4.2, distinguishable: false, detectable_mm: 8 };
const snapshot = (finding: unknown, more: object = {}, decisions: unknown[] = []): Snapshot =>
  ({
    settings,
    stations: [],
    headline: { moved: [], still: ['T1'], open: [], doubted: [], tests: 2 },
    network: {
      held: ['B1', 'B2'],
      pairs: [],
      decisions,
      stability: {
        bases: ['B1', 'B2', 'B3'],
        left: [],
        window: { from: '2026-11-22T00:00:00Z', to: '2026-11-23T00:00:00Z' },
        p: 0.2,
        persistence: 4,
        finding,
        movements: [{ id: 'B2', horizontal, up }],
        ...more,
      },
    },
  }) as unknown as Snapshot;
const moving = {
  kind: 'moving',
  moving: [
    {
      id: 'B2',
      since: '2026-10-06T00:00:00Z',
      earliest: '2026-07-01T00:00:00Z',
      latest: '2026-08-01T00:00:00Z',
    },
  ],
};
const told = (s: Snapshot): string => plain(stabilitySentences(s, clock).join(' '));

describe('what the bases show of each other', () => {
  test('congruent, watched, unclear and moving are each told with what follows', () => {
    expect(told(snapshot({ kind: 'congruent' }))).toBe(
      'On 22 November 2026 B1, B2 and B3 keep their places among each other (p 0.20). In the figures of single bases 3.2 mm horizontally would have been distinguishable in 8 of 10 cases.',
    );
    expect(told(snapshot({ kind: 'watch', accused: ['B3'] }))).toMatch(
      /B3 seems to have moved against the others; 4 days in a row/,
    );
    expect(told(snapshot({ kind: 'unclear', since: '2026-10-06T00:00:00Z' }))).toMatch(
      /have moved against each other, seen since 6 October 2026, and the data do not say which of them/,
    );
    expect(told(snapshot(moving))).toBe(
      'B2 moves against B1 and B3, seen since 6 October 2026; it began between 1 July 2026 and 1 August 2026, by now 9.5 mm ± 1.5 mm (95 %) toward 205°. No other base explains it as well, though B1 and B3 moving together the other way would look the same. A check survey of B2 would settle it.',
    );
  });

  test('bases that are left out, two bases, and no test at all are said', () => {
    expect(told(snapshot({ kind: 'congruent' }, { left: [{ id: 'B4', why: 'silent at present' }] }))).toMatch(
      /B4 is not in this test: silent at present/,
    );
    expect(told(snapshot({ kind: 'congruent' }, { bases: ['B1', 'B2'] }))).toMatch(
      /With two bases a movement would be seen, but not whose it is/,
    );
    const none = {
      ...snapshot({}),
      network: {
        held: [],
        pairs: [],
        common: [],
        closures: [],
        surveys: [],
        decisions: [],
        untested: 'no base is seen from another one',
      },
    };
    expect(told(none)).toMatch(/cannot be tested, because no base is seen from another one/);
  });

  test('the base that moves is in doubt, all of them where none is named, none where they keep their places', () => {
    expect(doubtedBases(snapshot(moving))).toEqual(['B2']);
    expect(doubtedBases(snapshot({ kind: 'unclear', since: '2026-10-06T00:00:00Z' }))).toEqual([
      'B1',
      'B2',
      'B3',
    ]);
    expect(doubtedBases(snapshot({ kind: 'watch', accused: ['B2'] }))).toEqual([]);
    expect(headlineSentence(snapshot(moving))).toMatch(
      /base B2 seems to move, and figures computed from it are in doubt/,
    );
    expect(headlineSentence(snapshot({ kind: 'unclear', since: '2026-10-06T00:00:00Z' }))).toMatch(
      /every figure is in doubt/,
    );
  });

  test("an engineer's latest decision counts, whatever the bases show", () => {
    const decide = (finding: string, at: string) => ({
      base: 'B2',
      finding,
      by: 'responsible engineer',
      at,
      why: 'Check survey of 3 November.',
    });
    const stable = decide('stable', '2026-11-04T00:00:00Z');
    const moves = decide('moving', '2026-11-10T00:00:00Z');
    expect(doubtedBases(snapshot(moving, {}, [stable]))).toEqual([]);
    // A decision does not cover what is seen only after it.
    const later = { kind: 'moving', moving: [{ id: 'B2', since: '2026-11-20T00:00:00Z' }] };
    expect(doubtedBases(snapshot(later, {}, [stable]))).toEqual(['B2']);
    expect(doubtedBases(snapshot({ kind: 'congruent' }, {}, [stable, moves]))).toEqual(['B2']);
    expect(headlineSentence(snapshot({ kind: 'congruent' }, {}, [moves]))).toMatch(/By decision, B2 moves/);
    expect(decisionSentence(moves as never, clock)).toBe(
      'Decided by responsible engineer on 10 November 2026: B2 moves: figures computed from it stay in doubt. Check survey of 3 November.',
    );
    expect(decisionSentence(stable as never, clock)).toMatch(/B2 is taken as stable: no doubt is raised/);
  });
});

test('a station is told from the bases that stand still', () => {
  const onto = { stable: ['B1', 'B3'], east_mm: 1, north_mm: 1, up_mm: 0, horizontal, up } as never;
  expect(plain(ontoSentence(onto, settings))).toBe(
    'Told from B1 and B3, which stand still, it has moved 9.5 mm ± 1.5 mm (95 %) toward 205°.',
  );
});

test('a station in doubt is told with that first, and what its own base says of it last', () => {
  const onto = { stable: ['B1', 'B3'], horizontal: { ...horizontal, distinguishable: false }, up } as never;
  const station = {
    id: 'T3',
    statement: { kind: 'displacement', horizontal, up },
    ontoStable: onto,
  } as never;
  expect(plain(doubtedSentence(station, 'B2', settings))).toBe(
    'T3 is in doubt, since its base B2 seems to move. Told from B1 and B3, which stand still, no movement is distinguishable; 3.2 mm horizontally or 8.0 mm up or down would have been seen in 8 of 10 cases. Seen from B2 it seems to have moved 9.5 mm ± 1.5 mm toward 205°.',
  );
});

test('stations whose base is in doubt and that cannot be told from others are named as such', () => {
  const s = snapshot(moving);
  expect(headlineSentence({ ...s, headline: { ...s.headline, still: [], doubted: ['T1', 'T2'] } })).toMatch(
    /^Of T1 and T2 nothing can be said while their base is in doubt\./,
  );
});
