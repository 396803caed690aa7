import type { ChangeRecord, TriggerRecord, TriggerState, WatchedRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  changeAnchor,
  changeTitle,
  logOf,
  madeText,
  quantityText,
  reachedSentences,
  ruleSentence,
  together,
  triggerStateText,
  unacknowledged,
  unreachedText,
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

test('what cannot be relied on never reads like where no level is reached', () => {
  const own = trigger();
  const said = (['stale', 'no-data', 'in-doubt', 'establishing', 'ended'] as const).flatMap((condition) => [
    plain(triggerStateText(own, state(condition))),
    plain(triggerStateText(own, state(condition, 2))),
  ]);
  expect(said.some((s) => s.startsWith('no level'))).toBe(false);
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
    'Of 6 figures under 1 trigger a level is reached in 2, none in 1 that are measured, 1 without data, 1 in doubt and 1 not watched yet.',
  );
  expect(watchSentence({ triggers: [] })).toBeUndefined();
  expect(watchSentence({ triggers: [trigger(other('T05', 'establishing'), other('T02', 'no-data'))] })).toBe(
    'Of 2 figures under 1 trigger none is measured: 1 without data and 1 not watched yet.',
  );
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
    [state('measured', 1), state('measured', 0), 'level 1 (attention, 8 mm) left, now no level reached'],
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
    'up or down, rate over 30 days, downward only',
  );
  expect(plain(ruleSentence(own))).toBe(
    'Watched every 24 h: the nearer end of the interval of a mean must pass a level; 2 of the newest 3 are asked, the newest among them; a level is left when as many are themselves below 80 % of the level; a missing one is passed over, and without any for 3 days there is no data.',
  );
});

test('of one side the sense is said', () => {
  const own = trigger();
  const said = (more: Partial<TriggerRecord>): string =>
    quantityText({ ...own, ...more }, { axes: { longitudinalAzimuthDeg: 72, transverse: 'downstream' } });
  expect(said({ side: 'negative' })).toBe('transverse (downstream), against downstream only');
  expect(said({ quantity: 'settlement', side: 'negative' })).toBe(
    'the second against the first, up or down, settlement of the second only',
  );
});

test('a figure beyond a level that is not confirmed is not told as if it were below', () => {
  const own = trigger();
  expect(plain(unreachedText({ ...T7, state: state('measured') }, own))).toBe(
    'T07 (17.1 ± 2.1 mm, beyond 15 mm but not confirmed)',
  );
  expect(plain(unreachedText({ ...T7, newest: mean(risen.at, 7) }, own))).toBe('T07 (7.0 ± 2.1 mm)');
});

test('changes of names in any script have places of their own on the page', () => {
  const names = ['ü', 'ö', 'crest', 'Crest'].map((name) =>
    changeAnchor({ trigger: { ...trigger(), name }, of: 'T1', change: risen }),
  );
  expect(new Set(names).size).toBe(4);
  expect(names.every((name) => /^[A-Za-z0-9-]+$/.test(name))).toBe(true);
});

test('an outage of many is one line, a level of each its own', () => {
  const lost: ChangeRecord = { ...risen, from: state('measured'), to: state('stale') };
  const triggers = [trigger({ ...T7, changes: [risen, lost] }, { ...T7, of: 'T08', changes: [risen, lost] })];
  expect(together(logOf({ triggers })).map((group) => group.map(({ of }) => of))).toEqual([
    ['T07'],
    ['T07', 'T08'],
    ['T08'],
  ]);
});
