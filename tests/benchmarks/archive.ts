/**
 * `archive` and `restore` of a project against tar and zstd (gzip where zstd is missing) on the same files in the same run:
 * `node tests/benchmarks/archive.ts [megabytes]` (200 unless said), after `npm run demo` has built the command. Each is told by the least of
 * three runs. Prints seconds, ratios, sizes and peak memory; asserts nothing.
 */
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdir, mkdtemp, rm, stat, writeFile } from 'node:fs/promises';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { geocentric } from '@stillmark/data/synthetic/place.ts';
import { built, mustRun } from '../support/command.ts';
import { idsOf, placeOf, projectYaml } from '../support/network.ts';

const megabytes = Number(process.argv[2] ?? 200);
const folder = await mkdtemp(join(tmpdir(), 'stillmark-archive-'));
const [project, site] = [join(folder, 'project'), join(folder, 'site')];

/** Positions of half a dozen stations, a position every half minute, until there are bytes enough. */
async function writeProject(): Promise<void> {
  await mkdir(join(project, 'positions'), { recursive: true });
  const ids = idsOf(6);
  await writeFile(
    join(project, 'project.yaml'),
    projectYaml(ids, { epoch: '2026.0', processingInterval: '1 h' }),
  );
  const random = source(1);
  const starts = ids.map((_, i) => geocentric(placeOf(i)));
  for (let [bytes, day] = [0, Date.UTC(2026, 0, 1)]; bytes < megabytes * 1e6; day += 86_400_000) {
    const lines = ['time,station,x,y,z,cxx,cxy,cxz,cyy,cyz,czz\n'];
    for (let t = day; t < day + 86_400_000; t += 30_000) {
      const time = `${new Date(t).toISOString().slice(0, 19)}Z`;
      for (const [i, id] of ids.entries()) {
        const xyz = starts[i]!.map((v) => (v + 0.003 * random.normal()).toFixed(4));
        const c = [2.1e-6, 3.1e-7, 8.2e-7, 1.1e-6, 1.9e-7, 2.4e-6].map((v) =>
          (v * (0.8 + 0.4 * random.uniform())).toExponential(4),
        );
        lines.push(`${time},${id},${xyz.join(',')},${c.join(',')}\n`);
      }
    }
    const text = lines.join('');
    bytes += text.length;
    await writeFile(join(project, `positions/${new Date(day).toISOString().slice(0, 10)}.csv`), text);
  }
}

const tellMemory = `data:text/javascript,${encodeURIComponent(
  'process.on("exit", () => process.stderr.write("\\nmaxrss " + process.resourceUsage().maxRSS + "\\n"))',
)}`;

/** Seconds of the quickest of three runs, and the peak memory of the last where it is the command. */
async function timed(
  remove: string | undefined,
  program: string,
  args: readonly string[],
): Promise<{ s: number; mib: number }> {
  let [best, err] = [Infinity, ''];
  for (let run = 0; run < 3; run++) {
    if (remove !== undefined) await rm(remove, { recursive: true, force: true });
    const start = process.hrtime.bigint();
    const child = spawn(program, args, { stdio: ['ignore', 'ignore', 'pipe'] });
    err = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text));
    const [code] = (await once(child, 'close')) as [number];
    if (code !== 0) throw new Error(`${program} ${args.join(' ')}: ${err}`);
    best = Math.min(best, Number(process.hrtime.bigint() - start) / 1e9);
  }
  return { s: best, mib: Number(/maxrss (\d+)/.exec(err)?.[1] ?? Number.NaN) / 1024 };
}

const shell = (script: string, remove: string): Promise<{ s: number }> =>
  timed(remove, 'bash', ['-o', 'pipefail', '-c', script]);
const command = (remove: string | undefined, ...args: string[]): Promise<{ s: number; mib: number }> =>
  timed(remove, process.execPath, ['--import', tellMemory, built, ...args]);
const megabytesOf = async (path: string): Promise<number> => (await stat(path)).size / 1e6;

try {
  await writeProject();
  await mustRun(['ingest', project]);
  await mustRun(['snapshot', project, '--out', site]);
  const zstd = spawn('zstd', ['--version'], { stdio: 'ignore' });
  const packer = await once(zstd, 'close').then(
    () => 'zstd',
    () => 'gzip',
  );
  const reference = join(folder, `reference.tar.${packer}`);
  const back = join(folder, 'reference-back');
  const names = 'project/project.yaml project/positions site';
  const pack = await shell(
    `tar -c -C ${folder} ${names} | ${packer} -q > ${reference}; sync ${reference}`,
    reference,
  );
  const unpack = await shell(`mkdir ${back}; ${packer} -dqc ${reference} | tar -x -C ${back}`, back);
  console.log(
    `Node ${process.version}, ${cpus().length} cores; tar | ${packer}: ${pack.s.toFixed(2)} s, ${(await megabytesOf(reference)).toFixed(0)} MB; unpacked in ${unpack.s.toFixed(2)} s`,
  );
  for (const form of ['tar', 'zip']) {
    const [file, out] = [join(folder, `x.${form}`), join(folder, 'back')];
    const archive = await command(file, 'archive', project, '--site', site, '--out', file);
    const verify = await command(undefined, 'verify', file);
    const restore = await command(out, 'restore', file, '--out', out);
    const told = Object.entries({ archive, verify, restore }).map(
      ([name, { s, mib }]) =>
        `${name} ${s.toFixed(2)} s (${(s / (name === 'archive' ? pack.s : unpack.s)).toFixed(1)} times), ${mib.toFixed(0)} MiB`,
    );
    console.log(`${form}, ${(await megabytesOf(file)).toFixed(0)} MB: ${told.join('; ')}`);
  }
} finally {
  await rm(folder, { recursive: true, force: true });
}
