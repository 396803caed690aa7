import type { SiteView, Snapshot, StationRecord } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { ageText, confidenceText, frameText, pageOf, stationHref } from './page.ts';

const snapshot = {
  asOf: '2026-11-22T23:00:00Z',
  stations: [],
  project: { timeZone: 'UTC', frame: { name: 'ITRF2020', ellipsoid: 'GRS 1980', epoch: '2026.7' } },
  settings: { confidence: 0.95 },
} as unknown as Snapshot;
const view: SiteView = { snapshot, series: new Map(), readings: new Map(), ellipseOverInterval: 1.249 };
const station = (last?: string): StationRecord =>
  ({ data: last === undefined ? undefined : { last } }) as unknown as StationRecord;

describe('page', () => {
  test('every address is relative to the folder of the page', () => {
    const top = pageOf(view, new URL('http://site.invalid/methods'));
    const deep = pageOf(view, new URL('http://site.invalid/stations/S1'));
    expect([top.root, stationHref(top, 'S2')]).toEqual(['', 'stations/S2.html']);
    expect([deep.root, stationHref(deep, 'S2')]).toEqual(['../', '../stations/S2.html']);
  });

  test('frame, epoch and probability are printed as they were given', () => {
    expect(frameText(snapshot)).toBe('ITRF2020, epoch 2026.7 (GRS 1980)');
    expect(confidenceText(snapshot)).toBe('95\u202f%');
    expect(confidenceText({ ...snapshot, settings: { ...snapshot.settings, confidence: 0.999 } })).toBe(
      '99.9\u202f%',
    );
  });

  test.each([
    ['2026-11-22T23:00:00Z', '0 h'],
    ['2026-11-22T22:40:00Z', '20 min'],
    ['2026-11-22T18:00:00Z', '5 h'],
    ['2026-11-21T23:00:00Z', '24 h'],
    ['2026-11-17T23:00:00Z', '5 days'],
    [undefined, '–'],
  ])('age of the newest epoch: %s is %s', (last, age) => expect(ageText(station(last), snapshot)).toBe(age));
});
