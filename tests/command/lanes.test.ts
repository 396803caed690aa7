import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { harrowfoldPositions } from '@stillmark/data/harrowfold-slope/generate.ts';
import { check, ingest, nodeFiles, type Effects } from '@stillmark/pipeline';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';

// Plainly good files are read in one go, others row by row: both lanes must say and store the same.

const effects: Effects = {
  files: nodeFiles,
  progress: () => {},
  nowMs: () => Date.parse('2026-12-01T00:00:00Z'),
};
const projectYaml = await readFile(
  new URL('../../data/harrowfold-slope/project.yaml', import.meta.url),
  'utf8',
);
const [header, ...rows] = harrowfoldPositions().get('positions/2026-09.csv')!.trimEnd().split('\n') as [
  string,
  ...string[],
];
const text = (lines: readonly string[], end = '\n'): string => `${[header, ...lines].join(end)}${end}`;

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), "stillmark's lanes "));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

async function stored(csv: string, yaml = projectYaml): Promise<{ hash: string; said: string[] }> {
  const project = await mkdtemp(join(folder, 'p'));
  await writeFile(join(project, 'project.yaml'), yaml.replace('positions/*.csv', 'a.csv'));
  await writeFile(join(project, 'a.csv'), csv);
  const checked = await check(project, effects);
  const { files, problems } = await ingest(project, effects);
  expect(checked.files.map(({ rows: n, rejected }) => ({ n, rejected }))).toEqual(
    files.map(({ rows: n, rejected }) => ({ n, rejected })),
  );
  expect(checked.problems).toEqual(problems);
  const bytes = await readFile(join(project, 'store/epochs/month=2026-09/epochs.parquet')).catch(
    () => undefined,
  );
  return {
    hash: bytes ? Buffer.from(bytes).toString('base64') : 'nothing',
    said: problems.map(({ code, at }) => `${code} ${at?.line}:${at?.column}`),
  };
}

describe('the two ways of reading a delivered file', () => {
  test('store the same bytes', async () => {
    const plain = await stored(text(rows));
    // Carriage returns and quotes send a file to the reader of rows.
    const slow = await stored(text(rows, '\r\n'));
    const quoted = await stored(text(rows.map((row) => row.replace(/^(\w+),/, '"$1",'))));
    expect([slow.hash === plain.hash, quoted.hash === plain.hash]).toEqual([true, true]);
    expect(plain.said).toEqual([]);
  });

  test('GPS time and millimetres are turned into the same rows', async () => {
    const gps = rows.map((row) =>
      row
        .replace(/(T\d\d):00:00Z/, '$1:00:18')
        .split(',')
        .map((field, i) =>
          i < 2 ? field : i < 5 ? (1000 * Number(field)).toFixed(1) : String(1e6 * Number(field)),
        )
        .join(','),
    );
    const yaml = projectYaml.replace(
      'timeScale: UTC',
      'timeScale: GPS\n    units: { position: mm, covariance: mm2 }',
    );
    const fast = await stored(text(gps), yaml);
    const slow = await stored(text(gps, '\r\n'), yaml);
    expect(fast.said).toEqual([]);
    expect(fast.hash).toBe(slow.hash);
  });

  const field = (row: string, i: number, value: string): string =>
    row
      .split(',')
      .map((old, k) => (k === i ? value : old))
      .join(',');
  const good = rows[5]!;
  test.each<[string, string, string]>([
    ['a time without zone', good.replace('Z,', ','), 'INPUT_TIME 7:4'],
    ['a day that does not exist', good.replace(/2026-09-\d\d/, '2026-09-31'), 'INPUT_TIME 7:4'],
    ['an hour that does not exist', good.replace(/T\d\d:/, 'T24:'), 'INPUT_TIME 7:4'],
    ['an epoch of the future', good.replace(/2026-09/, '2027-09'), 'INPUT_TIME 7:4'],
    ['an unknown station', field(good, 0, 'S9'), 'INPUT_STATION 7:1'],
    ['a word for a number', field(good, 3, 'nan'), 'INPUT_NUMBER 7:38'],
    ['infinity', field(good, 3, 'inf'), 'INPUT_NUMBER 7:38'],
    ['an underscore in a number', field(good, 5, '1_0e-6'), 'INPUT_NUMBER 7:63'],
    ['an empty field', field(good, 5, ''), 'INPUT_NUMBER 7:63'],
    ['millimetres for metres', field(good, 2, '4339000000'), 'INPUT_POSITION 7:25'],
    [
      'square millimetres for square metres',
      good.replaceAll('e-7', 'e-1').replaceAll('e-6', 'e+0').replaceAll('e-8', 'e-2'),
      'INPUT_COVARIANCE',
    ],
    ['a negative variance', field(good, 5, '-1e-6'), 'INPUT_COVARIANCE 7:63'],
    ['a variance of zero', field(field(field(good, 5, '0'), 6, '0'), 7, '0'), 'INPUT_COVARIANCE 7:63'],
    ['a covariance larger than its variances', field(good, 6, '1'), 'INPUT_COVARIANCE 7:63'],
    ['a field too few', good.slice(0, good.lastIndexOf(',')), 'INPUT_ROW 7:'],
    ['a field too many', `${good},7`, 'INPUT_ROW 7:'],
  ])('agree on %s: that row is told with its line, the others are stored', async (_, odd, expected) => {
    const lines = [...rows.slice(0, 5), odd, ...rows.slice(6, 40)];
    const mixed = await stored(text(lines));
    expect(mixed.said.length).toBe(1);
    expect(mixed.said[0]).toContain(expected);
    const without = await stored(text([...rows.slice(0, 5), ...rows.slice(6, 40)], '\r\n'));
    expect(mixed.hash).toBe(without.hash);
  });

  test('numbers with a sign, without digits before the point, or with spaces around are numbers in both', async () => {
    const odd = field(field(field(good, 2, `+${good.split(',')[2]!}`), 5, ' 1.5e-6 '), 6, '.0');
    const lines = [...rows.slice(0, 5), odd, ...rows.slice(6, 40)];
    const fast = await stored(text(lines));
    const slow = await stored(text(lines, '\r\n'));
    expect(fast).toEqual(slow);
    expect(fast.said).toEqual([]);
  });
});
