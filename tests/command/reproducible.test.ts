import { createHash } from 'node:crypto';
import { mkdir, mkdtemp, readFile, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { harrowfoldPositions } from '@stillmark/data/harrowfold-slope/generate.ts';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { makeDemo } from '../support/demo-site.ts';

let folder: string;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark same-'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

async function hashes(site: string): Promise<Record<string, string>> {
  const entries = await readdir(site, { recursive: true, withFileTypes: true });
  const files = entries.filter((e) => e.isFile()).map((e) => join(e.parentPath, e.name));
  const pairs = await Promise.all(
    files.sort().map(
      async (file) =>
        [
          file.slice(site.length + 1),
          createHash('sha256')
            .update(await readFile(file))
            .digest('hex'),
        ] as const,
    ),
  );
  return Object.fromEntries(pairs);
}

/** The demo project with its rows in another order, spread over other files. */
async function writeShuffled(project: string): Promise<void> {
  await writeHarrowfold(project);
  await rm(join(project, 'positions'), { recursive: true });
  await mkdir(join(project, 'positions/deep'), { recursive: true });
  const random = source(1);
  const texts = [...harrowfoldPositions().values()];
  const header = texts[0]!.split('\n')[0]!;
  const rows = texts.flatMap((text) => text.trimEnd().split('\n').slice(1));
  const keyed = rows.map((row) => ({ row, key: random.uniform() })).sort((a, b) => a.key - b.key);
  const half = Math.floor(keyed.length / 2);
  const parts = [keyed.slice(0, half + 200), keyed.slice(half)];
  await writeFile(
    join(project, 'positions/z.csv'),
    `${header}\r\n${parts[0]!.map((k) => k.row).join('\r\n')}\r\n`,
  );
  await writeFile(join(project, 'positions/a.csv'), `${header}\n${parts[1]!.map((k) => k.row).join('\n')}\n`);
}

test('another folder, zone, locale, row order and number of files give the same bytes', async () => {
  const project = join(folder, 'Übung 1', 'project');
  const site = join(folder, 'Übung 1', 'site');
  await makeDemo(
    project,
    site,
    { env: { TZ: 'Pacific/Chatham', LANG: 'tr_TR.UTF-8', LC_ALL: 'tr_TR.UTF-8' } },
    writeShuffled,
  );
  const here = await hashes(inject('demoSite'));
  expect(Object.keys(here).length).toBeGreaterThan(20);
  expect(await hashes(site)).toEqual(here);
});

test('neither a page nor a data file names a folder of the machine', async () => {
  const site = inject('demoSite');
  for (const file of Object.keys(await hashes(site))) {
    const text = await readFile(join(site, file), 'latin1');
    expect(text.includes(tmpdir()), file).toBe(false);
    expect(text.includes(process.cwd()), file).toBe(false);
  }
});
