import { formatProblems } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { columnsOf, readProject } from './index.ts';

const text = (stream: string, sensor = '', more = ''): string => `stillmark: 1
title: A slope
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 1.5 cm }
stations:
  - { id: B1, role: base, on: rock, position: { latitude: 46.1, longitude: 9.2, height: 800 } }
  - { id: S1, role: monitoring, on: slope, position: { latitude: 46.1, longitude: 9.2, height: 810 } }
streams:
  - { name: main, kind: relative, base: B1, solution: epoch-wise, files: [a.csv], ${stream} }
${sensor}
${more}
`;
const told = (stream: string, sensor?: string): string =>
  formatProblems(readProject(text(stream, sensor)).problems);
const geodetic =
  'coordinates: geodetic, columns: { station: s, time: t, latitude: a, longitude: b, height: c, se: d, sn: e, su: f }';

test('columns of other coordinates and standard deviations are read', () => {
  const { value, problems } = readProject(
    text(
      `${geodetic}, dialect: { delimiter: tab, decimal: ',', time: DD.MM.YYYY HH:mm, utcOffset: '+01:00' }`,
    ),
  );
  expect(problems).toEqual([]);
  const [stream] = value!.streams;
  expect(stream!.dialect).toEqual({
    delimiter: '\t',
    decimal: ',',
    time: 'DD.MM.YYYY HH:mm',
    utcOffset: '+01:00',
  });
  expect(columnsOf(stream!)).toEqual({
    coordinates: ['latitude', 'longitude', 'height'],
    uncertainty: ['se', 'sn', 'su'],
    kind: 'deviations',
  });
});

describe('what does not fit is named', () => {
  test.each([
    [
      geodetic.replace('coordinates: geodetic, ', ''),
      'columns of stream main lack x, y, z, xx, xy, xz, yy, yz, zz',
    ],
    [geodetic.replace(', su: f', ''), 'columns of stream main lack su'],
    [
      geodetic.replace('height: c', 'height: c, x: g'),
      'columns of stream main name x, which geodetic coordinates',
    ],
    [
      geodetic.replace('geodetic', 'map').replace('latitude', 'easting').replace('longitude', 'northing'),
      "in coordinates of the project's map",
    ],
    [`${geodetic}, dialect: { time: DD.MM.YYYY HH:mm }`, 'times of stream main have no zone'],
    [`${geodetic}, timeScale: GPS, dialect: { utcOffset: Z }`, 'times of stream main are GPS time'],
    [`${geodetic}, dialect: { decimal: ',' }`, 'in stream main a comma would end a field and a number alike'],
    [
      `${geodetic}, dialect: { time: DD.MM. HH:mm, utcOffset: Z }`,
      'a form of time has YYYY, MM, DD, HH and mm',
    ],
    [
      `${geodetic}, dialect: { time: 'DD. MMM YYYY HH:mm', utcOffset: Z }`,
      'a form of time has YYYY, MM, DD, HH and mm',
    ],
    [`${geodetic}, dialect: { utcOffset: CET }`, 'an offset from UTC is Z or such as +01:00'],
  ])('%s', (stream, message) => expect(told(stream)).toContain(message));

  test('of sensors too', () =>
    expect(
      told(
        geodetic,
        'sensors: [{ name: level, what: level, unit: m, files: [l.csv], columns: { time: t, value: v }, dialect: { time: DD.MM.YYYY HH:mm } }]',
      ),
    ).toContain('times of sensor level have no zone'));
});
