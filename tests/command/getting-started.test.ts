import { cp, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test, vi } from 'vitest';
import { stillmark } from '../support/command.ts';
import { shellWith, type Shell } from '../support/shell.ts';

// Getting started, done as it is told: blocks of commands are run, and print the block that follows them.
const manual = await readFile(
  fileURLToPath(new URL('../../apps/cli/docs/getting-started.md', import.meta.url)),
  'utf8',
);
const [told, complaints] = manual.split('## Where it complains') as [string, string];
const blocksOf = (text: string): { language: string; text: string }[] =>
  [...text.matchAll(/^```(\w+)\n([^]*?)^```$/gm)].map(([, language, own]) => ({
    language: language!,
    text: own!,
  }));
const block = (language: string): string => blocksOf(told).find((b) => b.language === language)!.text;

// Whole runs of the main job, some of them several to a test.
vi.setConfig({ testTimeout: 240_000 });

let folder: string;
let shell: Shell;
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-start-'));
  shell = await shellWith(folder);
  await writeFile(join(folder, 'stations.csv'), block('csv'));
  await writeFile(join(folder, 'positions.mjs'), block('js'));
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const projectFile = (): string => join(folder, 'quay/project.yaml');

/** Sizes are those of the pages, and change with every word on them. */
const withoutSizes = (text: string): string =>
  text.replace(/\d+ files, \d+ KiB/g, 'N files, N KiB').replace(/^\d+ files as/gm, 'N files as');

test('each command prints what stands under it, to the second run', async () => {
  const blocks = blocksOf(told);
  let run = 0;
  for (const [i, { language, text }] of blocks.entries()) {
    if (language === 'yaml') await replaceStreams(text);
    if (language !== 'bash') continue;
    const { status, stdout, stderr } = shell(text);
    const next = blocks[i + 1]!;
    expect(next.language).toBe('text');
    expect({ status, stderr, stdout: withoutSizes(stdout) }).toEqual({
      status: 0,
      stderr: '',
      stdout: withoutSizes(next.text),
    });
    run++;
  }
  expect(run).toBe(5);
});

async function replaceStreams(yaml: string): Promise<void> {
  const written = await readFile(projectFile(), 'utf8');
  // To the next key or the comment before it.
  const next = written.replace(/^streams:\n(?:[ ].*\n|\n)+/m, `${yaml}\n`);
  expect(next).not.toBe(written);
  await writeFile(projectFile(), next);
}

test('a reference period that ends with the newest epoch is not doubted when the next one comes', async () => {
  const own = join(folder, 'to the end');
  await mkdir(own);
  await cp(join(folder, 'quay'), join(own, 'quay'), {
    recursive: true,
    filter: (path) => !/store$|\.csv$|reference-positions\.yaml$/.test(path),
  });
  const months = ['2025-09.csv', '2025-10.csv'].map((name) => `quay/positions/${name}`);
  for (const month of months) {
    await cp(join(folder, month), join(own, month));
    expect((await stillmark(['ingest', 'quay'], { cwd: own })).code).toBe(0);
    if (month !== months[0]) continue;
    const span = ['--from', '2025-09-01', '--to', '2025-09-29', '--by', 'survey office'];
    expect((await stillmark(['commit', 'quay', 'B2', 'Q1', 'Q2', ...span], { cwd: own })).code).toBe(0);
  }
  const { out } = await stillmark(['snapshot', 'quay', '--out', 'site'], { cwd: own });
  expect(out).toMatch(/^Q2 has moved\. At Q1 no movement is distinguishable\.\nAs of /);
});

const stream = {
  kind: '    coordinates: geodetic\n',
  units: '    units: { deviation: mm }\n',
  columns: /^ {4}columns: .*\n/m,
};

/** How files and project differ from those above, by the heading of what is told. */
const faults: Record<string, { rows?: (text: string) => string; project?: (text: string) => string }> = {
  Semicolons: { rows: (text) => text.replaceAll(',', ';') },
  'Decimal commas': {
    rows: (text) => text.replaceAll(',', ';').replace(/(\d)\.(\d)/g, '$1,$2'),
    project: (text) => text.replace(stream.kind, `${stream.kind}    dialect: { delimiter: ; }\n`),
  },
  'Dates of another form': {
    rows: (text) => text.replace(/(\d{4})-(\d\d)-(\d\d)T(\d\d:\d\d):00Z/g, '$3.$2.$1 $4'),
  },
  'Columns of other names': { rows: (text) => text.replace('s_up', 'sigma_h') },
  'Coordinates of another kind': { project: (text) => text.replace(stream.kind, '') },
  'Millimetres that are taken for metres': { project: (text) => text.replace(stream.units, '') },
  'Stations of other names, or elsewhere': { rows: (text) => text.replace(/^Q2,/gm, 'Q-2,') },
};

const parts = complaints.split(/^### /m).slice(1);
test('every complaint is told of', () => {
  expect(parts.map((part) => part.split('\n')[0])).toEqual(Object.keys(faults));
});

test.each(parts.map((part) => [part.split('\n')[0]!, part] as const))(
  '%s: the complaint is that which is shown, and the key that is told settles it',
  async (heading, part) => {
    const own = join(folder, heading.replaceAll(/\W/g, '-'));
    const { rows = (text) => text, project = (text) => text } = faults[heading]!;
    await mkdir(own);
    await cp(join(folder, 'quay'), join(own, 'quay'), {
      recursive: true,
      filter: (path) => !/store$|2025-10\.csv$/.test(path),
    });
    const [file, positions] = [join(own, 'quay/project.yaml'), join(own, 'quay/positions/2025-09.csv')];
    await writeFile(positions, rows(await readFile(positions, 'utf8')));
    const yaml = project(await readFile(file, 'utf8'));
    await writeFile(file, yaml);
    const check = () => stillmark(['check', 'quay'], { cwd: own });
    const [shown, key] = blocksOf(part);
    const refused = await check();
    expect(refused.code).toBe(1);
    expect(refused.err.slice(0, shown!.text.length)).toBe(shown!.text);
    if (!key) return;
    const name = /^ {4}\w+:/.exec(key.text)![0];
    const line = new RegExp(`^${name} .*\n`, 'm');
    // In the place of the key where it stands there, else with the others of the stream.
    const mended = line.test(yaml)
      ? yaml.replace(line, key.text)
      : yaml.replace(stream.columns, (c) => key.text + c);
    await writeFile(file, mended);
    expect(await check()).toMatchObject({ code: 0, err: '' });
  },
);
