import { appendFile, cp, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, expect, inject, test } from 'vitest';
import { mustRun } from '../support/command.ts';

// What was computed before must change no byte of what is written.
let folder: string;
let project: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-memory-'));
  project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const manifestOf = async (...more: string[]): Promise<string> => {
  const site = join(folder, `site-${Math.floor(performance.now() * 1000)}`);
  await mustRun(['snapshot', project, '--out', site, ...more]);
  return readFile(join(site, 'manifest.json'), 'utf8');
};
const computed = (): string => join(project, 'store/computed');

test('with memory, without, and with memory that is damaged, a snapshot has the same bytes', async () => {
  await rm(computed(), { recursive: true, force: true });
  const anew = await manifestOf('--anew');
  expect((await readdir(join(project, 'store'))).includes('computed')).toBe(false);
  expect(await manifestOf()).toBe(anew);
  const kept = await readdir(computed());
  expect(kept.length).toBeGreaterThan(0);
  expect(await manifestOf()).toBe(anew);
  for (const [i, name] of kept.entries()) {
    if (i % 3 === 0) await writeFile(join(computed(), name), 'not a result');
    if (i % 3 === 1) await appendFile(join(computed(), name), 'x');
  }
  expect(await manifestOf()).toBe(anew);
});

test('after every delivery the site is that of everything computed anew', async () => {
  const rows = (await readFile(join(project, 'positions/2026-11.csv'), 'utf8')).trimEnd().split('\n');
  const [header, ...body] = rows;
  const x = header!.split(',').indexOf('x');
  const corrected = (row: string): string =>
    row
      .split(',')
      .map((field, k) => (k === x ? (Number(field) + 0.0004).toFixed(4) : field))
      .join(',');
  // The newest day comes hour by hour, then a late hour, then one that is corrected.
  await rm(join(project, 'store'), { recursive: true });
  const last = body
    .map((r) => r.split(',')[0]!)
    .toSorted()
    .at(-1)!;
  const held = body.filter((r) => r.split(',')[0]!.slice(0, 10) === last.slice(0, 10));
  await writeFile(
    join(project, 'positions/2026-11.csv'),
    `${[header, ...body.filter((r) => !held.includes(r))].join('\n')}\n`,
  );
  await mustRun(['ingest', project]);
  await manifestOf();
  const steps = [held.slice(0, 20), held.slice(20, -8), held.slice(-8), [corrected(held[0]!)]];
  for (const [i, part] of steps.entries()) {
    await writeFile(join(project, `positions/run-${i}.csv`), `${[header, ...part].join('\n')}\n`);
    await mustRun(['ingest', project]);
    expect(await manifestOf(), `after delivery ${i}`).toBe(await manifestOf('--anew'));
  }
});
