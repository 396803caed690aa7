import { formatProblems } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { readProject, unitOf, watchedBy } from './index.ts';

const station = (id: string, role: string): string =>
  `  - { id: ${id}, role: ${role}, on: ground, position: { latitude: 46.1, longitude: 9.2, height: 800 } }`;
const text = (more: string): string => `stillmark: 1
title: A slope
frame: { name: ITRF2020, ellipsoid: GRS 1980 }
processingInterval: 24 h
requirement: { horizontal: 10 mm, up: 1.5 cm }
responsible: [{ role: dam safety, name: somebody }]
stations:
${[station('B1', 'base'), station('S1', 'monitoring'), station('S2', 'monitoring')].join('\n')}
streams:
  - { name: main, kind: relative, base: B1, solution: epoch-wise, files: [a.csv], columns: { station: s, time: t, x: x, y: y, z: z, xx: a, xy: b, xz: c, yy: d, yz: e, zz: f } }
pairs: [{ name: ridge, stations: [S1, S2] }]
${more}
`;
const trigger = (more = '', levels = 'low at 8 mm, high at 1.5 cm', name = 'slide'): string =>
  `  - { name: ${name}, quantity: horizontal${more === '' ? '' : `, ${more}`}, levels: [${levels
    .split(', ')
    .map((l) => {
      const [level, at] = l.split(' at ');
      return `{ name: ${level}, at: ${at}, responsible: dam safety }`;
    })
    .join(', ')}] }`;
const triggers = (...all: string[]): string => `triggers:\n${all.join('\n')}`;
const told = (more: string): string => formatProblems(readProject(text(more)).problems);

test('a trigger is read with its defaults, levels in millimetres', () => {
  const { value, problems } = readProject(text(triggers(trigger())));
  expect(problems).toEqual([]);
  expect(value!.triggers[0]).toMatchObject({
    quantity: 'horizontal',
    figures: 'raw',
    side: 'either',
    window: 86_400_000,
    basis: 'confident',
    persistence: { needed: 2, of: 3 },
    release: 0.8,
    missing: { means: 'passed over', noDataAfter: 3 * 86_400_000 },
    levels: [{ at: { value: 8, unit: 'mm' } }, { at: { value: 15, unit: 'mm' } }],
  });
  expect(watchedBy(value!, value!.triggers[0]!)).toEqual(['S1', 'S2']);
});

test('rates are told in 30 days, whatever time their levels are given in', () => {
  const { value, problems } = readProject(
    text(
      triggers(
        trigger('rateOver: 30 d', 'a at 20 mm/year, b at 5 mm/month, c at 0.5 mm/d'),
        '  - { name: tilt, quantity: tilt, levels: [{ name: a, at: 0.5 mm/m, responsible: dam safety }] }',
      ),
    ),
  );
  expect(problems).toEqual([]);
  // 365.25 days of a year, 30 of a month.
  expect(value!.triggers[0]!.levels.map(({ at }) => at.value)).toEqual([20 * (30 / 365.25), 5, 15]);
  expect(value!.triggers.map(unitOf)).toEqual(['mm/30 d', 'mm/m']);
  expect(watchedBy(value!, value!.triggers[1]!)).toEqual(['ridge']);
});

describe('what is wrong is named', () => {
  test.each([
    [
      triggers(trigger('', 'low at 8 mm, high at 8 mm')),
      'level high of trigger slide is not above level low',
    ],
    [triggers(trigger('', 'low at 8 mm, low at 9 mm')), 'trigger slide has two levels low'],
    [triggers(trigger('', 'low at 8 mm/d')), 'level low of trigger slide has the wrong unit'],
    [triggers(trigger('rateOver: 30 d')), 'level low of trigger slide has the wrong unit'],
    [triggers(trigger('', 'low at 0 mm')), "'0 mm' is not a level"],
    [triggers(trigger('', 'low at -3 mm')), "'-3 mm' is not a level"],
    [triggers(trigger('stations: [S9]')), 'trigger slide names S9, which is not a station'],
    [triggers(trigger('stations: [B1]')), 'trigger slide names B1, which is held in stream main'],
    [triggers(trigger('stream: other')), 'trigger slide names other, which is not a stream'],
    [triggers(trigger('pairs: [ridge]')), 'trigger slide is of stations'],
    [
      triggers(trigger().replace('horizontal', 'distance, pairs: [crest]')),
      'names crest, which is not a pair',
    ],
    [
      triggers(trigger().replace('horizontal', 'transverse')),
      'trigger slide is transverse, and the project has no axes',
    ],
    [triggers(trigger('side: negative')), 'size of a movement, which has no side'],
    [triggers(trigger('persistence: 0 of 3')), "'0 of 3' is not so many of so many means"],
    [triggers(trigger('persistence: 4 of 3')), "'4 of 3' is not so many of so many means"],
    [triggers(trigger('persistence: often')), "'often' is not so many of so many means"],
    [triggers(trigger('release: 120 %')), "'120 %' is not a share of a level"],
    [triggers(trigger('window: 5 h')), 'window of trigger slide is no whole number'],
    [triggers(trigger('window: 36 h')), 'window of trigger slide is no whole number'],
    [triggers(trigger('missing: { noDataAfter: 6 h }')), 'without data between any two processing runs'],
    [triggers(trigger(), trigger()), 'trigger slide is defined twice'],
    [triggers(trigger('from: 2026-05-01T00:00:00Z, to: 2026-04-01T00:00:00Z')), 'ends before it begins'],
    [triggers(trigger().replace('dam safety', 'nobody')), 'names nobody, which is no role under responsible'],
    [triggers(trigger().replace(/levels: .*\] \}/, 'levels: [] }')), 'a trigger has at least one level'],
  ])('%s', (more, message) => expect(told(more)).toContain(message));
});

describe('acknowledgements', () => {
  const of = (more: string): string =>
    `${triggers(trigger())}\nacknowledgements: [{ ${more}, change: 2026-05-01T00:00:00Z, by: me, at: 2026-05-02T00:00:00Z }]`;
  test('are read', () => expect(told(of('trigger: slide, of: S1'))).toBe(''));
  test.each([
    [of('trigger: side, of: S1'), 'acknowledgement 1 names side, which is not a trigger'],
    [of('trigger: slide, of: B1'), 'acknowledgement 1 is of B1, which slide does not watch'],
    [
      of('trigger: slide, of: S1').replace('at: 2026-05-02', 'at: 2026-04-02'),
      'acknowledgement 1 is older than the change it is of',
    ],
  ])('%s', (more, message) => expect(told(more)).toContain(message));
});
