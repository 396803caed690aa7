import type { HealthRecord, StationHealth, SupplyRecord, SuspicionRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  beside,
  causeText,
  dutyState,
  formatNumber,
  healthSentences,
  outageLength,
  roughSpan,
  supplySentence,
  suspicionSentence,
  timeFaultSentence,
  ZoneClock,
} from './index.ts';

const clock = new ZoneClock('UTC');
const asOf = Date.parse('2026-11-22T23:00:00Z');
const station = (id: string, newest: string, behindMs = 0, completeness = 1): StationHealth => ({
  station: id,
  streams: [
    { stream: 'main', newest, behindMs, completeness, outages: 0, outageMs: 0, firstDay: newest, days: [] },
  ],
  tracking: [],
});
const health = (more: Partial<HealthRecord> = {}): HealthRecord => ({
  recent: { from: '2026-11-15T23:00:00Z', to: '2026-11-22T23:00:00Z' },
  before: { from: '2026-10-18T23:00:00Z', to: '2026-11-15T23:00:00Z' },
  shared: [],
  stations: [station('S1', '2026-11-22T23:00:00Z'), station('S2', '2026-11-22T23:00:00Z')],
  outages: [],
  supplies: [],
  duties: [],
  suspicions: [],
  timeFaults: [],
  ...more,
});
const plain = (text: string): string => text.replaceAll('\u202f', ' ');

describe('what the page of data says first', () => {
  test('where nothing is wrong', () =>
    expect(healthSentences(health(), asOf, clock).map(plain)).toEqual([
      '2 stations have sent positions, and none has been silent for more than a day.',
      'In the last 30 days 100.0 % of the positions expected came, with no outage.',
      'Nothing asks for attention.',
    ]));

  test('before the first position', () =>
    expect(healthSentences(health({ stations: [] }), asOf, clock)[0]).toBe(
      'No station has sent a position yet.',
    ));

  test('where a station is silent, an outage lasts and a duty is overdue', () =>
    expect(
      healthSentences(
        health({
          stations: [
            station('S1', '2026-11-22T23:00:00Z'),
            station('S2', '2026-11-17T23:00:00Z', 5 * 86_400_000, 0.8),
          ],
          outages: [
            { from: '2026-11-17T23:00:00Z', stations: ['S2'], cause: { kind: 'station', name: 'S2' } },
            {
              from: '2026-11-07T23:00:00Z',
              to: '2026-11-08T09:00:00Z',
              stations: ['S1', 'S2'],
              cause: { kind: 'shared', name: 'router' },
            },
          ],
          duties: [{ what: 'renew', due: '2026-11-17', remindDays: 14, state: 'overdue' }],
        }),
        asOf,
        clock,
      ).map(plain),
    ).toEqual([
      '2 stations have sent positions. S2 has sent nothing for 5.0 days.',
      'In the last 30 days 90.0 % of the positions expected came, with 2 outages, of which one lasts (S2 alone, since 17 November 2026).',
      'To be looked at: 1 outage that lasts and 1 duty overdue.',
    ]));
});

test('spans, causes and duties in words', () => {
  expect([40 * 60_000, 13 * 3_600_000, 2.5 * 86_400_000, 12 * 86_400_000].map(roughSpan).map(plain)).toEqual([
    '40 min',
    '13 h',
    '2.5 days',
    '12 days',
  ]);
  expect(causeText({ kind: 'base', name: 'B1' })).toBe('base B1, and all that is told from it');
  expect(
    plain(
      outageLength(
        { from: '2026-11-22T10:00:00Z', stations: [], cause: { kind: 'station', name: 'S1' } },
        asOf,
      ),
    ),
  ).toBe('13 h, still');
  const duty = { what: 'visit', remindDays: 14 } as const;
  expect(dutyState({ ...duty, state: 'overdue', due: '2026-11-17' }, asOf)).toBe('overdue by 5 days');
  expect(dutyState({ ...duty, state: 'soon', due: '2026-11-22' }, asOf)).toBe('due today');
  expect(dutyState({ ...duty, state: 'ahead', due: '2026-12-01' }, asOf)).toBe('in 9 days');
  expect(dutyState({ ...duty, state: 'done' }, asOf)).toBe('done');
});

test('a figure stands beside that of before where they differ', () => {
  const text = (v: number): string => formatNumber(v, 1);
  expect(beside(2, 1.95, text)).toBe('2.0');
  expect(beside(2, 1.5, text)).toBe('2.0 (before 1.5)');
  expect(beside(2, undefined, text)).toBe('2.0');
  expect(beside(undefined, 3, text)).toBe('–');
});

test('supplies: what there is, where it goes, when it ends', () => {
  const battery: SupplyRecord = {
    sensor: 'volts', of: 'router', kind: 'battery', unit: 'V', limit: 11.8,
    newest: { at: '2026-11-22T23:00:00Z', value: 12.16 },
  }; // prettier-ignore
  expect(plain(supplySentence(battery, clock))).toBe('router: battery 12.16 V, not to fall below 11.80 V.');
  expect(
    plain(
      supplySentence(
        {
          ...battery,
          perDay: -0.0188,
          perDayPlusMinus: 0.001,
          reached: { earliest: '2026-12-09T00:00:00Z', by: '2026-12-10T00:00:00Z' },
        },
        clock,
      ),
    ),
  ).toBe(
    'router: battery 12.16 V, not to fall below 11.80 V. The least value of a day changes by −0.0188 V ± 0.0010 V a day. It gets there about 10 December 2026, at the earliest on 9 December 2026.',
  );
  expect(
    plain(
      supplySentence(
        {
          ...battery,
          newest: { at: '2026-11-22T23:00:00Z', value: 11.7 },
          passed: true,
        },
        clock,
      ),
    ),
  ).toContain('it has fallen below.');
  expect(supplySentence({ ...battery, newest: undefined as never }, clock)).toContain(
    'no reading of its battery',
  );
  const data: SupplyRecord = {
    ...battery, kind: 'data', unit: 'MB', limit: 500, newest: { at: '2026-11-22T23:00:00Z', value: 421 },
    plan: { from: '2026-11-01T00:00:00Z', to: '2026-12-01T00:00:00Z', used: 421, expected: 480 },
  }; // prettier-ignore
  expect(plain(supplySentence(data, clock))).toContain(
    '480 MB will be when the plan begins anew on 1 December 2026',
  );
});

test('suspicions and mistakes of time name their figures', () => {
  const suspicion: SuspicionRecord = {
    kind: 'obscured',
    of: 'S1',
    since: '2026-11-20T00:00:00Z',
    evidence: [
      { kind: 'strength', drop_dB: 4.2 },
      { kind: 'freezing', least: -3.1, unit: '°C', sensor: 'air' },
      { kind: 'together', stations: ['S2', 'S3'] },
    ],
  };
  expect(plain(suspicionSentence(suspicion, clock))).toBe(
    'S1: its antenna may be covered (snow, ice, leaves), since 20 November 2026: signals are 4.2 dB weaker than in the weeks before, air went down to −3.1 °C and so it is with S2 and S3.',
  );
  const fault = {
    kind: 'scale',
    stream: 'main',
    stations: ['S1'],
    from: '2026-11-01T00:00:18Z',
    to: '2026-11-03T23:00:18Z',
    epochs: 72,
    offsetSeconds: 18,
  } as const;
  expect(plain(timeFaultSentence(fault, clock))).toContain(
    'stand 18 s after where the others stand in the minute: GPS time and UTC differ by so much',
  );
  expect(timeFaultSentence({ ...fault, kind: 'weeks', offsetSeconds: -619_315_200 }, clock)).toContain(
    '1024 weeks later',
  );
});
