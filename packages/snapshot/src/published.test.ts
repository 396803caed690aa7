import { createHash } from 'node:crypto';
import { describe, expect, test } from 'vitest';
import { parseVersions, parseWaiting, serialiseVersions, serialiseWaiting, versionName } from './index.ts';

const manifest = createHash('sha256').update('a manifest').digest('hex');
const version = {
  name: versionName('2026-11-22T23:00:00Z', manifest),
  project: 'A dam',
  timeZone: 'Europe/Vienna',
  asOf: '2026-11-22T23:00:00Z',
  validUntil: '2026-11-24T23:00:00Z',
  headline: 'Nothing has moved.',
  level: { number: 0, names: [] },
  manifest,
};

describe('names of versions', () => {
  test('sort as their times do, to the second', () => {
    const times = [
      '2025-12-31T23:59:59Z',
      '2026-01-01T00:00:00Z',
      '2026-01-01T00:00:00.500Z',
      '2026-11-22T23:00:00Z',
    ];
    const names = times.map((time) => versionName(time, manifest));
    expect(names).toEqual(names.toSorted());
    expect(names[2]).toBe(`20260101T000000Z-${manifest.slice(0, 12)}`);
  });
});

describe('the list of what is published', () => {
  test('is read as it was written', () => {
    const published = { latest: version.name, versions: [version, { ...version, asOf: '2026-11-21T00:00:00Z', name: versionName('2026-11-21T00:00:00Z', manifest), despite: 'x' }] }; // prettier-ignore
    expect(parseVersions(serialiseVersions(published))).toEqual(published);
  });

  test.each<[string, object]>([
    ['a name that leads out', { ...version, name: '../../../etc' }],
    ['a name of another snapshot', { ...version, name: versionName(version.asOf, 'f'.repeat(64)) }],
    ['a hash that is none', { ...version, manifest: 'x' }],
    ['a time that is none', { ...version, asOf: 'yesterday' }],
    ['a key that is not known', { ...version, more: 1 }],
  ])('with %s is refused', (_, bad) => {
    const text = serialiseVersions({ latest: version.name, versions: [bad as typeof version] });
    expect(() => parseVersions(text)).toThrow(/list of what is published cannot be read/);
  });

  test('with a name twice, or no JSON, is refused', () => {
    expect(() =>
      parseVersions(serialiseVersions({ latest: version.name, versions: [version, version] })),
    ).toThrow(/cannot be read/);
    expect(() => parseVersions('{')).toThrow(/cannot be read/);
  });
});

test('states that wait to be told are read as they were written, none among them; others are refused', () => {
  const standings = {
    asOf: '2026-11-22T23:00:00Z',
    triggers: [
      { trigger: 'slide', of: 'T1', stream: 'main', unit: 'mm', state: { condition: 'measured', level: 0 } },
    ],
    stations: [{ of: 'T1', state: 'still' }],
    bases: [{ of: 'B1', state: 'stable' }],
  } as const;
  for (const waiting of [{ standings, told: ['a'] }, { told: [] }])
    expect(parseWaiting(serialiseWaiting(waiting), 'x')).toEqual(waiting);
  const wrong = { ...standings, stations: [{ of: 'T1', state: 'fine' as 'still' }] };
  expect(() => parseWaiting(serialiseWaiting({ standings: wrong, told: [] }), 'x')).toThrow(
    /wait to be told/,
  );
  expect(() => parseWaiting('', 'x')).toThrow(/wait to be told/);
});
