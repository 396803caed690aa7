import { formatProblem } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readProject } from './index.ts';

const project = (more: string, horizon = ''): string => `stillmark: 1
title: Test
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 1 h
requirement: { horizontal: 10 mm, up: 15 mm }
events: [{ at: 2026-03-01T10:00:00Z, what: stage, kind: instrument, station: S1 }]
stations:
  - { id: B1, role: base, on: rock, position: { latitude: 55, longitude: -3, height: 300 } }
  - { id: S1, role: monitoring, on: crest, position: { latitude: 55.001, longitude: -3, height: 300 }${horizon} }
streams:
  - { name: main, kind: relative, base: B1, solution: epoch-wise, files: [a.csv], columns: { station: s, time: t, x: x, y: y, z: z, xx: a, xy: b, xz: c, yy: d, yz: e, zz: f } }
${more}`;
const told = (more: string, horizon = ''): string =>
  readProject(project(more, horizon), 'project.yaml')
    .problems.map((p) => formatProblem(p))
    .join('\n');

describe('what is planned', () => {
  test('is read with what is usual', () => {
    const { value, problems } = readProject(
      project(
        `plan:
  start: 2026-06-01
  installation: { from: 2026-05-01, to: 2026-05-03 }
  power: [{ of: S1, load: 5, sunHours: 1.2, autonomy: 5 d }]
  displacementTests: [{ station: S1, at: 2026-03-01T10:00:00Z, set: { east: 5 mm } }]`,
        ', horizon: [[0, 10], [90, 35], [200, 5]]',
      ),
      'project.yaml',
    );
    expect(problems).toEqual([]);
    expect(value!.plan!.power[0]).toMatchObject({ voltage: 12, depthOfDischarge: 0.5 });
    expect(value!.plan!.displacementTests[0]!.set).toEqual({ east: 0.005, north: 0, up: 0 });
  });

  test.each([
    [
      'plan: { power: [{ of: S9, load: 5, sunHours: 1, autonomy: 5 d }] }',
      '',
      /no station and nothing shared/,
    ],
    [
      'plan: { power: [{ of: S1, load: -5, sunHours: 1, autonomy: 5 d }] }',
      '',
      /a load is more than nothing/,
    ],
    ['plan: { installation: { from: 2026-05-03, to: 2026-05-01 } }', '', /ends before it begins/],
    [
      'plan: { start: 2026-04-01, installation: { from: 2026-05-01, to: 2026-05-03 } }',
      '',
      /before anything is installed/,
    ],
    [
      'plan: { orders: [{ what: masts, ordered: 2026-02-01, lead: 30 d, received: 2026-01-01 }] }',
      '',
      /received before it was ordered/,
    ],
    ['plan: { zone: { clearance: 50 m } }', '', /no outline has a zone/],
    [
      'plan: { displacementTests: [{ station: S1, at: 2026-03-02T10:00:00Z, set: { east: 5 mm } }] }',
      '',
      /no event of kind instrument/,
    ],
    ['plan: { displacementTests: [{ station: S1, at: 2026-03-01T10:00:00Z, set: {} }] }', '', /by how much/],
    ['', ', horizon: [[90, 10], [20, 5]]', /azimuths of a horizon ascend/],
    ['', ', horizon: [[90, 100]]', /horizon/],
  ])('%s%s', (more, horizon, message) => expect(told(more, horizon)).toMatch(message));
});
