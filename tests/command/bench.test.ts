import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { source } from '@stillmark/data/synthetic/noise.ts';
import type { BenchResult } from '@stillmark/planning';
import { afterAll, beforeAll, expect, test } from 'vitest';
import { stillmark } from '../support/command.ts';

// Acceptance of a receiver from a file; the statistics are checked against scipy in packages/planning.
let folder: string;
beforeAll(async () => (folder = await mkdtemp(join(tmpdir(), 'stillmark-bench-'))));
afterAll(() => rm(folder, { recursive: true, force: true }));

const stated = ['--distance', '10 m', '--height', '50 cm', '--plan', '8 mm', '--up', '10 mm'];
const random = source(81);
for (let i = 0; i < 20; i++) random.normal();
const measured = (series: number, sigma = 0.004): string[] =>
  Array.from({ length: 10 * series }, (_, k) => {
    const [x, h] = k % 2 === 0 ? [0, 0] : [10, 0.5];
    const [e, n, u] = [sigma * random.normal(), sigma * random.normal(), sigma * random.normal()];
    return `${Math.floor(k / 10) + 1},${Math.floor((k % 10) / 2) + 1},${(k % 2) + 1},${(x + e).toFixed(4)},${n.toFixed(4)},${(h + u).toFixed(4)}`;
  });
const put = async (name: string, rows: readonly string[]): Promise<string> => {
  await writeFile(join(folder, name), `series,set,point,x,y,h\n${rows.join('\n')}\n`);
  return join(folder, name);
};

test('a good receiver passes; its deviations are those that DuckDB finds', async () => {
  const file = await put('good.csv', measured(3));
  const told = await stillmark(['bench', file, ...stated]);
  expect(told).toMatchObject({ code: 0, err: '' });
  expect(told.out).toContain('By the full procedure the receiver shows what is stated of it.\nAll 15 differences lie within 28.3 mm in distance and 35.4 mm in height.\n'); // prettier-ignore
  const json = JSON.parse((await stillmark(['bench', file, ...stated, '--json'])).out) as BenchResult;
  const connection = await (await DuckDBInstance.create(':memory:')).connect();
  const [row] = (
    await connection.runAndReadAll(
      `select sqrt(sum(vx + vy) / 2), sqrt(sum(vh) / 2) from (select var_samp(x) vx, var_samp(y) vy, var_samp(h) vh from '${file}' group by point)`,
    )
  ).getRows() as [number, number][];
  expect(json.precision!.plan.sigma).toBeCloseTo(row![0], 10);
  expect(json.precision!.height.sigma).toBeCloseTo(row![1], 10);
});

test('a bad one, and a slip of one set, do not pass: exit code 1', async () => {
  const bad = await stillmark(['bench', await put('bad.csv', measured(3, 0.012)), ...stated]);
  expect(bad.code).toBe(1);
  expect(bad.out).toMatch(
    /Standard deviation in plan: 1\d\.\d mm, above 9\.2 mm \(95 %, 56 degrees of freedom\)/,
  );
  expect(bad.err).toContain('BENCH_REJECTED');
  const rows = measured(1);
  rows[3] = rows[3]!.replace(/,10\.|,9\./, ',11.');
  const slip = await stillmark(['bench', await put('slip.csv', rows), ...stated]);
  expect(slip.code).toBe(1);
  expect(slip.out).toContain('By the simplified procedure the receiver does not show');
  expect(slip.out).toMatch(/\n {2}series 1, set 2: /);
});

test('what is no test, no number, no length or no file says so', async () => {
  const file = await put('two.csv', measured(2));
  expect((await stillmark(['bench', file, ...stated])).err).toContain('2 series are neither one (simplified) nor three (full)'); // prettier-ignore
  const broken = await stillmark(['bench', await put('broken.csv', ['1,1,3,0,0,0']), ...stated]);
  expect(broken).toMatchObject({ code: 1 });
  expect(broken.err).toContain('broken.csv:2:5');
  expect((await stillmark(['bench', file, ...stated.slice(0, -1), '10'])).code).toBe(2);
  expect((await stillmark(['bench', join(folder, 'none.csv'), ...stated])).err).toContain('USE_FILE_MISSING');
});
