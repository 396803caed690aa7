import type { Snapshot, Standings, TriggerStanding } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import {
  highestLevel,
  highestLevelText,
  publishedSentence,
  retentionSentence,
  standingsOf,
  transitionKey,
  transitionsBetween,
} from './index.ts';

const at = '2026-11-22T00:00:00Z';
const trigger = (of: string, state: TriggerStanding, name = 'slide'): Standings['triggers'][number] => ({
  trigger: name,
  of,
  stream: 'main',
  unit: 'mm',
  state,
});
const quiet: TriggerStanding = { condition: 'measured', level: 0 };
const reached: TriggerStanding = {
  condition: 'measured',
  level: 1,
  levelName: 'attention',
  responsible: 'A',
};
const standings = (more: Partial<Standings>): Standings => ({
  asOf: at,
  triggers: [],
  stations: [],
  bases: [],
  ...more,
});
const texts = (before: Partial<Standings> | undefined, now: Partial<Standings>): string[] =>
  transitionsBetween(before && standings(before), standings(now)).map(({ text }) => text);

describe('what differs between two states', () => {
  test('another level, another condition and another name of a level; a new figure or another person is none', () => {
    const from = { triggers: [trigger('T1', quiet)] };
    expect(texts(from, { triggers: [trigger('T1', reached)] })).toEqual([
      'T1, slide: level 1 (attention) (before: no level reached)',
    ]);
    const doubted: TriggerStanding = { ...reached, condition: 'in-doubt' };
    expect(texts({ triggers: [trigger('T1', reached)] }, { triggers: [trigger('T1', doubted)] })).toEqual([
      'T1, slide: in doubt, at level 1 (attention) (before: level 1 (attention))',
    ]);
    const renamed = { ...reached, levelName: 'notice' };
    expect(
      texts({ triggers: [trigger('T1', reached)] }, { triggers: [trigger('T1', renamed)] }),
    ).toHaveLength(1);
    const same = { ...trigger('T1', { ...reached, responsible: 'B' }), newest: { at, value: 9 } };
    expect(texts({ triggers: [trigger('T1', reached)] }, { triggers: [same] })).toEqual([]);
  });

  test('the same station under two triggers, or in two streams, is not mixed up', () => {
    const both = [trigger('T1', quiet), trigger('T1', reached, 'settling')];
    const other = [trigger('T1', reached), trigger('T1', reached, 'settling')];
    expect(transitionsBetween(standings({ triggers: both }), standings({ triggers: other }))).toMatchObject([
      { trigger: 'slide', from: { level: 0 }, to: { level: 1 } },
    ]);
    const stream = { ...trigger('T1', quiet), stream: 'second' };
    expect(texts({ triggers: [trigger('T1', quiet)] }, { triggers: [trigger('T1', quiet), stream] })).toEqual(
      ['T1, slide: no level reached (nothing before)'],
    );
  });

  test('stations and bases, what is new and what is gone, in this order', () => {
    expect(
      texts(
        {
          stations: [
            { of: 'T1', state: 'still' },
            { of: 'T9', state: 'moved' },
          ],
          bases: [
            { of: 'B1', state: 'stable' },
            { of: 'B2', state: 'stable' },
          ],
        },
        {
          stations: [
            { of: 'T1', state: 'doubted' },
            { of: 'T2', state: 'establishing' },
          ],
          bases: [
            { of: 'B1', state: 'watched' },
            { of: 'B2', state: 'stable' },
          ],
        },
      ),
    ).toEqual([
      'T1: in doubt (before: no movement distinguishable)',
      'T2: establishing (nothing before)',
      'T9: no longer there (before: moved)',
      'base B1: seems to move, for too short a time to say so (before: keeps its place)',
    ]);
  });

  test('what may have been told in between is told whether it differs or not', () => {
    const now = standings({
      triggers: [trigger('T1', quiet)],
      stations: [{ of: 'T1', state: 'still' }],
      bases: [{ of: 'T1', state: 'stable' }],
    });
    const moved = { ...now, stations: [{ of: 'T1', state: 'moved' as const }] };
    const again = new Set(transitionsBetween(now, moved).map(transitionKey));
    expect(transitionsBetween(now, now, again)).toEqual([
      {
        kind: 'station',
        of: 'T1',
        from: 'still',
        to: 'still',
        text: 'T1: no movement distinguishable (as before; another state may have been told in between)',
      },
    ]);
    expect(transitionsBetween(now, moved, again)).toHaveLength(1);
  });

  test('where there was no snapshot everything is told; where nothing differs nothing', () => {
    const now = {
      stations: [{ of: 'T1', state: 'still' as const }],
      bases: [{ of: 'B1', state: 'untested' as const }],
    };
    expect(transitionsBetween(undefined, standings(now))).toMatchObject([
      { kind: 'station', from: null, to: 'still' },
      { kind: 'base', from: null, to: 'untested' },
    ]);
    expect(transitionsBetween(standings(now), standings({ ...now, asOf: '2026-11-23T00:00:00Z' }))).toEqual(
      [],
    );
  });
});

test.each([
  [{ kind: 'congruent' }, [], ['stable', 'stable', 'stable', 'untested']],
  [{ kind: 'watch', accused: ['B2'] }, [], ['stable', 'watched', 'stable', 'untested']],
  [{ kind: 'moving', moving: [{ id: 'B2', since: at }] }, [], ['stable', 'doubted', 'stable', 'untested']],
  [{ kind: 'unclear', since: at }, [], ['doubted', 'doubted', 'doubted', 'untested']],
  [
    { kind: 'congruent' },
    [{ base: 'B4', finding: 'moving', by: 'A', at, why: 'a crack' }],
    ['stable', 'stable', 'stable', 'doubted'],
  ],
])('bases as %j and %j leave them', (finding, decisions, expected) => {
  const bases = ['B1', 'B2', 'B3', 'B4'].map((id) => ({ id, role: 'base', others: [] }));
  const snapshot = {
    asOf: at,
    triggers: [],
    stations: bases,
    network: { held: [], pairs: [], decisions, stability: { bases: ['B1', 'B2', 'B3'], finding } },
  } as unknown as Snapshot;
  expect(standingsOf(snapshot).bases.map(({ state }) => state)).toEqual(expected);
});

describe('what is published', () => {
  const watched = (level: number, condition = 'measured'): object => ({ state: { condition, level } });
  const levelOf = (...triggers: object[]) => highestLevel({ triggers } as unknown as Snapshot);
  const levels = [{ name: 'attention' }, { name: 'alert' }];

  test('the highest level of all triggers, in doubt too, with what each calls it; of what has ended none', () => {
    expect(levelOf()).toBeUndefined();
    expect(levelOf({ levels, watched: [watched(0)] })).toEqual({ number: 0, names: [] });
    expect(
      levelOf(
        { levels, watched: [watched(1), watched(2, 'in-doubt'), watched(2)] },
        { levels: [{ name: 'a' }, { name: 'stop work' }], watched: [watched(2)] },
        { levels: [...levels, { name: 'alarm' }], watched: [watched(3, 'ended')] },
      ),
    ).toEqual({ number: 2, names: ['alert', 'stop work'] });
  });

  test('in words', () => {
    expect(
      [undefined, { number: 0, names: [] }, { number: 2, names: ['alert', 'stop work'] }].map(
        highestLevelText,
      ),
    ).toEqual(['no levels set', 'no level reached', 'level 2 (alert and stop work)']);
    const name = '20261122T000000Z-0123456789ab';
    expect(publishedSentence({ name }, { added: true, switched: true })).toMatch(
      /^Published as versions\/20261122T/,
    );
    expect(publishedSentence({ name }, { added: false, switched: true })).toMatch(
      /latest leads to it again\.$/,
    );
    expect(publishedSentence({ name }, { added: false, switched: false })).toMatch(/nothing was changed\.$/);
    expect(retentionSentence(1, [])).toBe('1 version published.');
    expect(retentionSentence(2, ['a', 'b'])).toBe('2 versions published; taken away: a and b.');
  });
});
