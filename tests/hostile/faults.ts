/**
 * Kills `ingest` and `snapshot` at random moments: `node tests/hostile/faults.ts [kills] [seed]` (300 unless said), after `npm run demo` has built the
 * command. After each kill the old site must be whole; in the end the store must have every epoch once, to the byte of one that was never
 * disturbed, and nothing half written may be left. Ends with 1 where that is not so.
 */
import { spawn } from 'node:child_process';
import { cp, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { built, mustRun, stillmark } from '../support/command.ts';

const kills = Number(process.argv[2] ?? 300);
const random = source(Number(process.argv[3] ?? 1));
for (let i = 0; i < 40; i++) random.uniform();
const folder = await mkdtemp(join(tmpdir(), 'stillmark-faults-'));
const [calm, rough] = [join(folder, 'calm'), join(folder, 'rough')];

function killAfter(ms: number, args: readonly string[]): Promise<boolean> {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [built, ...args], { stdio: 'ignore' });
    let killed = false;
    const timer = setTimeout(() => (killed = child.kill('SIGKILL')), ms);
    child.on('close', () => {
      clearTimeout(timer);
      resolve(killed);
    });
  });
}
const storeOf = async (project: string): Promise<Map<string, string>> => {
  const names = (await readdir(join(project, 'store'), { recursive: true }))
    .filter((n) => n.endsWith('.parquet'))
    .sort();
  return new Map(
    await Promise.all(
      names.map(async (n) => [n, await readFile(join(project, 'store', n), 'base64')] as const),
    ),
  );
};
const must = (right: boolean, what: string): void => {
  if (right) return;
  console.error(`WRONG: ${what} (${folder} is left)`);
  process.exit(1);
};

// Deliveries of a day each, in the order in which they come.
await writeHarrowfold(calm);
const files = (await readdir(join(calm, 'positions'))).sort();
const rows: string[] = [];
let header = '';
for (const name of files) {
  const [first, ...rest] = (await readFile(join(calm, 'positions', name), 'utf8')).trimEnd().split('\n');
  header = first!;
  rows.push(...rest);
  await rm(join(calm, 'positions', name));
}
const at = header.split(',').indexOf('time');
const days = [...new Set(rows.map((r) => r.split(',')[at]!.slice(0, 10)))].sort();
await cp(calm, rough, { recursive: true });
const site = join(folder, 'site');
let [ingests, snapshots] = [0, 0];
let next = 0;
for (let k = 0; ingests + snapshots < kills; k++) {
  if (next < days.length) {
    const text = `${[header, ...rows.filter((r) => r.split(',')[at]!.startsWith(days[next]!))].join('\n')}\n`;
    for (const project of [calm, rough])
      await writeFile(join(project, 'positions', `${days[next]!}.csv`), text);
    next++;
  }
  if (await killAfter(120 + 500 * random.uniform(), ['ingest', rough])) ingests++;
  if (k === 3) {
    await mustRun(['ingest', rough]);
    await mustRun(['snapshot', rough, '--out', site]);
  }
  if (k > 3) {
    if (await killAfter(150 + 1300 * random.uniform(), ['snapshot', rough, '--out', site])) snapshots++;
    const place = (await readdir(folder)).includes('site') ? site : join(folder, '.site.stillmark-previous');
    const { code, err } = await stillmark(['verify', place]);
    must(code === 0, `the site is not whole: ${err}`);
  }
  // A store that was stopped on the way opens, and what stands in it is read.
  if (k % 10 === 9) {
    await mustRun(['ingest', rough]);
    await mustRun(['ingest', calm]);
    const [a, b] = [await storeOf(calm), await storeOf(rough)];
    must(
      a.size === b.size && [...a].every(([name, bytes]) => b.get(name) === bytes),
      'the store differs from one that was not disturbed',
    );
  }
}
await mustRun(['ingest', rough]);
await mustRun(['snapshot', rough, '--out', site]);
await mustRun(['ingest', calm]);
await mustRun(['snapshot', calm, '--out', join(folder, 'calm-site')]);
const manifests = await Promise.all(
  [site, join(folder, 'calm-site')].map((s) => readFile(join(s, 'manifest.json'), 'utf8')),
);
must(manifests[0] === manifests[1], 'the site differs from one that was not disturbed');
const left = (await readdir(folder, { recursive: true })).filter((n) => /partial|lock$|previous/.test(n));
must(left.length === 0, `left behind: ${left.join(', ')}`);
console.log(
  `${ingests} ingests and ${snapshots} snapshots killed; the store and the site are those of a project that was not disturbed`,
);
await rm(folder, { recursive: true, force: true });
