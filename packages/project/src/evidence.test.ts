import { formatProblems } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readProject, untiedChanges } from './index.ts';

const text = (processing: string, more = ''): string => `stillmark: 1
title: A slope
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 1.5 cm }
stations:
  - { id: B1, role: base, on: rock, position: { latitude: 46.1, longitude: 9.2, height: 800 } }
  - { id: S1, role: monitoring, on: slope, position: { latitude: 46.1, longitude: 9.2, height: 810 } }
streams:
  - { name: main, kind: relative, base: B1, solution: epoch-wise, files: [a.csv], processing: [${processing}], columns: { station: s, time: t, x: x, y: y, z: z, xx: a, xy: b, xz: c, yy: d, yz: e, zz: f } }
${more}
`;
const told = (processing: string, more?: string): string =>
  formatProblems(readProject(text(processing, more)).problems);
const untied = (processing: string, more?: string): ReturnType<typeof untiedChanges> => {
  const { value, problems } = readProject(text(processing, more));
  expect(problems).toEqual([]);
  return untiedChanges(value!, value!.streams[0]!);
};

describe('how positions were processed', () => {
  const before = '{ from: 2026-03-01T00:00:00Z, engine: A 1, mask: 10 }';
  const after = '{ from: 2026-05-03T06:00:00Z, engine: A 2, mask: 10, note: new release }';
  test('a change that no event ties is named, with what changed', () => {
    expect(untied(`${before}, ${after}`)).toEqual([
      { atMs: Date.parse('2026-05-03T06:00:00Z'), what: 'engine A 1, then A 2' },
    ]);
  });
  test('an event of the processing within a day ties it; one of another stream or kind does not', () => {
    const event = (kind: string, at = '2026-05-03T00:00:00Z'): string =>
      `events: [{ at: ${at}, what: new engine, kind: ${kind}${kind === 'instrument' ? ', station: S1' : ''} }]`;
    expect(untied(`${before}, ${after}`, event('processing'))).toEqual([]);
    expect(untied(`${before}, ${after}`, event('note')).length).toBe(1);
    expect(untied(`${before}, ${after}`, event('instrument')).length).toBe(1);
    expect(untied(`${before}, ${after}`, event('processing', '2026-05-09T00:00:00Z')).length).toBe(1);
    expect(
      untied(
        `${before}, ${after}`,
        'events: [{ at: 2026-05-03T06:00:00Z, what: held anew, kind: base, station: B1 }]',
      ),
    ).toEqual([]);
  });
  test('a note alone changes nothing', () => {
    expect(
      untied(`${before}, { from: 2026-05-03T06:00:00Z, engine: A 1, mask: 10, note: moved house }`),
    ).toEqual([]);
  });
  test('entries follow each other', () => {
    expect(told(`${after}, ${before}`)).toContain(
      'processing 2 of stream main does not begin after the one before it',
    );
  });
});

describe('check surveys', () => {
  const survey = (more: string, station = 'B1'): string =>
    `surveys: [{ station: ${station}, at: 2026-05-03T06:00:00Z, method: levelling, by: me, result: still${more} }]`;
  test('are read, of either sign', () => {
    const { value, problems } = readProject(
      text(
        '',
        survey(
          ', movement: { up: { value: -1.2 mm, plusMinus: 1 mm }, east: { value: 0 mm, plusMinus: 2 mm } }',
        ),
      ),
    );
    expect(problems).toEqual([]);
    expect(value!.surveys[0]!.movement.up!.value).toBeCloseTo(-0.0012, 12);
    expect(value!.surveys[0]!.movement.east!.value).toBe(0);
  });
  test.each([
    [survey('', 'B9'), 'survey 1 is of B9, which is not a station'],
    [survey(', movement: { up: { value: two, plusMinus: 1 mm } }'), "'two' is not a movement"],
    [survey(', movement: { up: { value: 1 mm } }'), 'plusMinus of up of movement of survey 1 is missing'],
  ])('%s', (more, message) => expect(told('', more)).toContain(message));
});
