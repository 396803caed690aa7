import { formatProblems } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readProject, streamOf } from './index.ts';

const station = (id: string, more = ''): string =>
  `  - { id: ${id}, role: ${id.startsWith('B') ? 'base' : 'monitoring'}, on: ground, position: { latitude: 46.1, longitude: 9.2, height: 800 }${more} }`;
const text = (
  more: string,
  stations = [station('B1'), station('B2'), station('S1'), station('S2'), station('S3')],
): string => `stillmark: 1
title: A slope
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 1.5 cm }
stations:
${stations.join('\n')}
streams:
${['B1', 'B2']
  .map(
    (base) =>
      `  - { name: from-${base}, kind: relative, base: ${base}, solution: epoch-wise, files: [a.csv], columns: { station: s, time: t, x: x, y: y, z: z, xx: a, xy: b, xz: c, yy: d, yz: e, zz: f } }`,
  )
  .join('\n')}
${more}
`;
const told = (more: string, stations?: string[]): string =>
  formatProblems(readProject(text(more, stations)).problems);

describe('pairs and lines', () => {
  test('are read, with the stream of their first station unless they name one', () => {
    const { value, problems } = readProject(
      text(
        'pairs:\n  - { stations: [S1, S2] }\n  - { stations: [B1, S2], stream: from-B2 }\nlines:\n  - { name: toe, stations: [S1, S2, S3] }',
      ),
    );
    expect(problems).toEqual([]);
    expect(value!.pairs.map((pair) => streamOf(value!, pair).name)).toEqual(['from-B1', 'from-B2']);
  });

  test.each([
    ['pairs: [{ stations: [S1] }]', 'a pair has two stations'],
    ['pairs: [{ stations: [S1, S2, S3] }]', 'a pair has two stations'],
    ['lines: [{ stations: [S1, S2] }]', 'a line has at least three stations'],
    ['pairs: [{ stations: [S1, S9] }]', 'pair 1 names S9, which is not a station'],
    ['lines: [{ stations: [S1, S2, S1] }]', 'line 1 names S1 twice'],
    ['pairs: [{ stations: [S1, S2], stream: from-B3 }]', 'pair 1 names from-B3, which is not a stream'],
    ['pairs: [{ stations: [B1, S2] }]', 'pair 1 names B1, which is held in stream from-B1'],
    ['response: { means: 5 h }', 'means of response is shorter than 1 h or does not divide a day'],
    ['response: { means: 30 min }', 'means of response is shorter than 1 h'],
  ])('%s', (more, message) => expect(told(more)).toContain(message));
});

describe('stations that take the place of others', () => {
  const succeeding = (of: string): string => `, succeeds: { station: ${of}, at: 2026-05-01T00:00:00Z }`;
  test('is read', () => {
    expect(told('', [station('B1'), station('S1'), station('S2', succeeding('S1')), station('B2')])).toBe('');
  });
  test.each([
    [[station('S1', succeeding('S9'))], 'S1 takes the place of S9, which is not a station'],
    [[station('S1', succeeding('B1'))], 'S1 takes the place of B1, which is no monitoring station'],
    [[station('S1', succeeding('S1'))], 'S1 takes its own place in the end'],
    [
      [station('S1', succeeding('S2')), station('S2', succeeding('S1'))],
      'the stations succeed each other in a circle',
    ],
  ])('%#', (stations, message) =>
    expect(told('', [station('B1'), station('B2'), ...stations])).toContain(message),
  );
});

describe('decisions on bases', () => {
  const decision = (base: string, at = '2026-11-04T00:00:00Z'): string =>
    `  - { base: ${base}, finding: moving, by: engineer, at: ${at}, why: check survey }`;
  test('are read', () => {
    expect(told(`decisions:\n${decision('B2')}\n${decision('B2', '2026-11-05T00:00:00Z')}`)).toBe('');
  });
  test('about what is no base, and two of one time, are told', () => {
    expect(told(`decisions:\n${decision('S1')}`)).toContain('decision 1 is about S1, which is not a base');
    expect(told(`decisions:\n${decision('B2')}\n${decision('B2')}`)).toContain(
      'decisions 1 and 2 on B2 are of the same time',
    );
  });
});
