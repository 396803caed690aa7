import { formatProblem } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readProject } from './index.ts';

const project = (more: string): string => `stillmark: 1
title: Test
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 1 h
requirement: { horizontal: 10 mm, up: 15 mm }
responsible: [{ role: operation, name: office }]
stations:
  - { id: B1, role: base, on: rock, position: { latitude: 55, longitude: -3, height: 300 } }
  - { id: S1, role: monitoring, on: crest, position: { latitude: 55.001, longitude: -3, height: 300 } }
streams:
  - { name: main, kind: relative, base: B1, solution: epoch-wise, files: [a.csv], columns: { station: s, time: t, x: x, y: y, z: z, xx: a, xy: b, xz: c, yy: d, yz: e, zz: f } }
${more}`;
const told = (more: string): string =>
  readProject(project(more), 'project.yaml')
    .problems.map((p) => formatProblem(p))
    .join('\n');

describe('what the network hangs on', () => {
  test('is read: sources of tracking, shared things, duties, sensors', () => {
    const { value, problems } = readProject(
      project(`tracking:
  - { name: receivers, format: rinex, files: ['rinex/*.rnx.gz'], orbits: ['rinex/*.nav'] }
shared: [{ name: left bank, what: router, stations: [B1, S1] }]
duties:
  - { what: renew the SIM, of: left bank, due: 2026-12-15, every: 12 months, responsible: operation }
sensors:
  - { name: volts, what: battery, unit: V, files: [v.csv], columns: { time: t, value: v }, health: { kind: battery, of: left bank, least: 11.8 } }
`),
      'project.yaml',
    );
    expect(problems).toEqual([]);
    expect(value!.tracking[0]).toMatchObject({ mask: 10, qualities: [4] });
    expect(value!.duties[0]).toMatchObject({
      due: Date.parse('2026-12-15T00:00:00Z'),
      every: { count: 12, unit: 'month' },
      remind: 14 * 86_400_000,
    });
  });

  test.each([
    ['tracking: [{ name: a, format: nmea, files: [x] }]', /whose log each file is/],
    [
      'tracking: [{ name: a, format: rinex, files: [x], sites: { S9: x } }]',
      /name S9, which is not a station[^]*S1/,
    ],
    [
      'tracking: [{ name: a, format: rinex, files: [x] }, { name: A, format: rinex, files: [x] }]',
      /defined twice/,
    ],
    ['shared: [{ name: S1, what: x, stations: [B1] }]', /the name of something else too/],
    ['shared: [{ name: left, what: x, stations: [S7] }]', /serves S7, which is not a station/],
    ['duties: [{ what: visit, due: 2026-02-30 }]', /'2026-02-30' is not a day[^]*2026-12-15/],
    [
      'duties: [{ what: visit, due: 2026-02-20, every: often }]',
      /'often' is not a time between duties[^]*12 months/,
    ],
    ['duties: [{ what: visit, due: 2026-02-20, of: S8 }]', /no station and nothing shared/],
    ['duties: [{ what: visit, due: 2026-02-20, responsible: boss }]', /which nobody has[^]*operation/],
    ['duties: [{ what: visit, due: 2026-02-20, done: [2020-01-01] }]', /does not come again/],
    [
      'sensors: [{ name: v, what: x, unit: V, files: [v.csv], columns: { time: t, value: v }, health: { kind: battery, of: S1 } }]',
      /does not say its least/,
    ],
    [
      'sensors: [{ name: v, what: x, unit: MB, files: [v.csv], columns: { time: t, value: v }, health: { kind: data, of: S1, plan: 5 } }]',
      /does not say its resets/,
    ],
  ])('%s', (more, message) => expect(told(more)).toMatch(message));
});
