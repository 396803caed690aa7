import type { ChangeRecord, TriggerRecord, TriggerState, WatchedRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  changeTitle,
  logOf,
  madeText,
  quantityText,
  reachedSentences,
  ruleSentence,
  triggerStateText,
  unacknowledged,
  watchSentence,
  withoutBegins,
  ZoneClock,
} from './index.ts';

const plain = (text: string | undefined): string => (text ?? '').replaceAll('\u202f', ' ');
const clock = new ZoneClock('UTC');
const state = (condition: TriggerState['condition'], level = 0): TriggerState => ({ condition, level });
const mean = (at: string, value: number): { at: string; value: number; plusMinus: number } => ({
  at,
  value,
  plusMinus: 2.1,
});
const begun: ChangeRecord = {
  at: '2026-05-01T00:00:00Z',
  from: state('establishing'),
  to: state('measured'),
  made: [mean('2026-05-01T00:00:00Z', 0.4)],
};
const risen: ChangeRecord = {
  at: '2026-09-09T00:00:00Z',
  from: state('measured'),
  to: state('measured', 1),
  made: [
    mean('2026-09-07T00:00:00Z', 9.6),
    mean('2026-09-08T00:00:00Z', 10.2),
    mean('2026-09-09T00:00:00Z', 10.6),
  ],
};
const trigger = (...watched: WatchedRecord[]): TriggerRecord => ({
  name: 'downstream movement',
  quantity: 'transverse',
  figures: 'raw',
  unit: 'mm',
  windowMs: 86_400_000,
  basis: 'confident',
  side: 'either',
  persistence: { needed: 2, of: 3 },
  release: 0.8,
  missing: { means: 'passed over', noDataAfterMs: 3 * 86_400_000 },
  levels: [
    { name: 'attention', at: 8, responsible: 'measurement' },
    { name: 'alert', at: 15, responsible: 'dam safety' },
  ],
  watched,
});
const T7: WatchedRecord = {
  of: 'T07',
  stream: 'main',
  state: state('measured', 1),
  since: risen.at,
  newest: mean('2026-11-23T00:00:00Z', 17.1),
  changes: [begun, risen],
};
const other = (of: string, condition: TriggerState['condition'], level = 0): WatchedRecord => ({
  of,
  stream: 'main',
  state: state(condition, level),
  changes: [begun],
});

test('a level that is reached is told with since when, how much, and for whom', () => {
  expect(reachedSentences({ triggers: [trigger(T7, other('T01', 'measured'))] }, clock).map(plain)).toEqual([
    'T07, downstream movement: at level 1 (attention, 8 mm) since 9 September 2026: 17.1 ± 2.1 mm, mean of 24 h up to 23 November 2026, 00:00 UTC. For: measurement.',
  ]);
});

test('what cannot be relied on never reads like what is below the levels', () => {
  const own = trigger();
  const said = (['stale', 'no-data', 'in-doubt', 'establishing', 'ended'] as const).flatMap((condition) => [
    plain(triggerStateText(own, state(condition))),
    plain(triggerStateText(own, state(condition, 2))),
  ]);
  expect(said.some((s) => s.includes('below'))).toBe(false);
  expect(said).toEqual([
    'stale',
    'stale, last at level 2 (alert, 15 mm)',
    'no data',
    'no data, last at level 2 (alert, 15 mm)',
    'in doubt; its own figures reach no level',
    'in doubt; its own figures are at level 2 (alert, 15 mm)',
    'establishing: not watched yet',
    'establishing: not watched yet',
    'watched no more',
    'watched no more, last at level 2 (alert, 15 mm)',
  ]);
});

test('all that is watched is counted once', () => {
  const watched = [
    T7,
    other('T01', 'measured'),
    other('T02', 'no-data'),
    other('T03', 'in-doubt'),
    other('T04', 'in-doubt', 1),
    other('T05', 'establishing'),
    other('T06', 'ended'),
  ];
  expect(plain(watchSentence({ triggers: [trigger(...watched)] }))).toBe(
    'Of 6 figures under 1 trigger a level is reached in 2; 1 is below the levels, and 1 without data, 1 in doubt and 1 not watched yet.',
  );
  expect(watchSentence({ triggers: [] })).toBeUndefined();
});

describe('the log', () => {
  const triggers = [trigger(T7, other('T01', 'measured'))];

  test('is told newest first, begins together', () => {
    const log = logOf({ triggers });
    expect(log.map((entry) => plain(changeTitle(entry)))).toEqual([
      'T07, downstream movement: level 1 (attention, 8 mm) reached',
      'T07, downstream movement: watched from here on',
      'T01, downstream movement: watched from here on',
    ]);
    const { changes, begins } = withoutBegins(log);
    expect(changes.map(({ of }) => of)).toEqual(['T07']);
    expect(begins.map(({ of }) => of)).toEqual([['T07', 'T01']]);
    expect(plain(madeText(triggers[0]!, risen))).toBe('9.6 ± 2.1; 10.2 ± 2.1; 10.6 ± 2.1 mm');
  });

  test('counts what nobody has acknowledged', () => {
    const seen = { ...risen, acknowledged: [{ by: 'somebody', at: risen.at }] };
    expect(unacknowledged(logOf({ triggers })).length).toBe(1);
    expect(unacknowledged(logOf({ triggers: [trigger({ ...T7, changes: [begun, seen] })] }))).toEqual([]);
  });

  test.each([
    [state('measured', 1), state('measured', 0), 'level 1 (attention, 8 mm) left, now below its levels'],
    [state('measured', 1), state('no-data', 1), 'no data, last at level 1 (attention, 8 mm)'],
    [state('no-data', 1), state('measured', 1), 'measured again, at level 1 (attention, 8 mm)'],
    [state('in-doubt', 0), state('in-doubt', 2), 'level 2 (alert, 15 mm) reached, while in doubt'],
    [state('establishing'), state('measured', 1), 'level 1 (attention, 8 mm) reached'],
  ])('%o to %o', (from, to, words) => {
    const change = { ...risen, from, to };
    expect(plain(changeTitle({ trigger: trigger(), of: 'T07', change }))).toBe(
      `T07, downstream movement: ${words}`,
    );
  });
});

test('what is watched, and how', () => {
  const own = trigger();
  expect(quantityText(own, { axes: { longitudinalAzimuthDeg: 72, transverse: 'downstream' } })).toBe(
    'transverse (downstream)',
  );
  expect(quantityText({ ...own, quantity: 'up', side: 'negative', rateOverMs: 30 * 86_400_000 }, {})).toBe(
    'up, rate over 30 days, downwards only',
  );
  expect(plain(ruleSentence(own))).toBe(
    'Watched every 24 h: the nearer end of the interval of a mean must pass a level; 2 of the newest 3 are asked, the newest among them; a level is left when as many are below 80 % of the level; a missing one is passed over, and without any for 3 days there is no data.',
  );
});
