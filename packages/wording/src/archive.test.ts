import { describe, expect, test } from 'vitest';
import { archiveAbout, archiveSentences, restoreSentences } from './index.ts';

const plain = (lines: readonly string[]): string[] => lines.map((line) => line.replaceAll('\u202f', ' '));
const snapshot = {
  project: { title: 'Fellmoor slope' },
  asOf: '2026-11-22T23:00:00Z',
  producer: { name: 'stillmark', version: '0.1.0' },
} as Parameters<typeof archiveAbout>[0];

describe('what an archive says of itself', () => {
  test('what it is, where the site is, how it is checked and computed again, and the caution', () => {
    const text = archiveAbout(snapshot, { inputs: 'files', store: false });
    expect(text.split('\n').slice(0, 2)).toEqual([
      'Fellmoor slope',
      'GNSS deformation monitoring: project and site as of 2026-11-22T23:00:00Z',
    ]);
    expect(text).toContain('BagIt bag (RFC 8493)');
    expect(text).toContain('open data/site/index.html in a browser');
    expect(text).toContain('the files that were delivered');
    expect(text).toMatch(
      /`stillmark ingest` and `stillmark snapshot --as-of 2026-11-22T23:00:00Z`\nof stillmark 0\.1\.0 give the same site again/,
    );
    expect(text).toContain('not a life-safety alarm');
    expect(text).not.toContain('data/project/store');
    expect(text).not.toContain('inputs.csv');
    expect(Math.max(...text.split('\n').map((line) => line.length))).toBeLessThanOrEqual(105);
  });

  test('that delivered files are not in it, or that the store is', () => {
    expect(archiveAbout(snapshot, { inputs: 'hashes', store: false })).toContain(
      'data/inputs.csv the delivered files, by path, size and SHA-256; they are not in here',
    );
    const stored = archiveAbout(snapshot, { inputs: 'files', store: true });
    expect(stored).toContain('data/project/store');
    expect(stored).not.toContain('stillmark ingest');
  });
});

const archived = {
  title: 'Fellmoor slope',
  asOf: '2026-11-22T23:00:00Z',
  files: 45,
  bytes: 2_090_496,
  sha256: 'ab'.repeat(32),
  delivered: 3,
  leftOut: [] as string[],
};

test('what was put into an archive, and what was not', () => {
  expect(plain(archiveSentences(archived, { out: 'a.tar', inputs: 'files', store: true }))).toEqual([
    'Fellmoor slope as of 2026-11-22T23:00:00Z: 45 files, 2 090 496 bytes in a.tar',
    `SHA-256 of it: ${'ab'.repeat(32)}`,
  ]);
  const without = archiveSentences(
    { ...archived, leftOut: ['a', 'b', 'c', 'd', 'e'] },
    { out: 'a.tar', inputs: 'hashes', store: false },
  );
  expect(plain(without).slice(2)).toEqual([
    'Of 3 delivered files it holds path, size and hash alone: keep them elsewhere, since the site cannot be computed again without them.',
    'The store is not in it: `stillmark ingest` builds it again from the delivered files.',
    'Not in it, since project.yaml does not name them: a, b, c and 2 more.',
  ]);
  expect(
    archiveSentences({ ...archived, leftOut: ['a'] }, { out: 'a', inputs: 'files', store: true }).at(-1),
  ).toBe('Not in it, since project.yaml does not name them: a.');
});

test('what came out of an archive, and how the site is computed again', () => {
  const restored = {
    title: 'Fellmoor slope',
    asOf: '2026-11-22T23:00:00Z',
    computedBy: 'stillmark 0.1.0',
    files: 40,
  };
  const here = { out: 'r', version: 'stillmark 0.1.0' };
  expect(restoreSentences({ ...restored, inputs: 'files', store: false }, here)).toEqual([
    'Every hash is right. 40 files of Fellmoor slope as of 2026-11-22T23:00:00Z in r: the site is r/site/index.html, the project r/project',
    'To compute the site again: `stillmark ingest r/project`, then `stillmark snapshot r/project --as-of 2026-11-22T23:00:00Z --out DIR`.',
  ]);
  expect(restoreSentences({ ...restored, inputs: 'hashes', store: true }, here).slice(1)).toEqual([
    'To compute the site again: `stillmark snapshot r/project --as-of 2026-11-22T23:00:00Z --out DIR`.',
  ]);
  expect(
    restoreSentences(
      { ...restored, inputs: 'hashes', store: false },
      { ...here, version: 'stillmark 2.0.0' },
    ),
  ).toEqual(
    expect.arrayContaining([
      'The delivered files are not among them: r/inputs.csv lists them, and they belong into r/project.',
      'It was computed by stillmark 0.1.0, and this is stillmark 2.0.0: figures may differ by the method.',
    ]),
  );
});
