/**
 * The main job on a large project, as a ratio against DuckDB's own reading and hourly averaging of the same files in the same
 * run: `node tests/benchmarks/large-project.ts [stations] [days]` (50 stations, 365 days of 5 minutes unless said), after
 * `npm run demo` has built the command. Prints seconds, ratios and peak memory; asserts nothing.
 */
import { spawn } from 'node:child_process';
import { createWriteStream } from 'node:fs';
import { mkdir, mkdtemp, readdir, rm, stat, writeFile } from 'node:fs/promises';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { once } from 'node:events';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { axesAt, geocentric } from '@stillmark/data/synthetic/place.ts';
import { built } from '../support/command.ts';
import { idsOf, placeOf, projectYaml } from '../support/network.ts';

const [stations, days] = [Number(process.argv[2] ?? 50), Number(process.argv[3] ?? 365)];
const stepMs = 300_000;
const firstMs = Date.parse('2025-01-01T00:00:00Z');
const ids = idsOf(stations);
/** White noise and a covariance that varies a little: what costs time is the number of rows, not what is in them. */
async function writeProject(folder: string): Promise<{ rows: number; bytes: number }> {
  await mkdir(join(folder, 'positions'), { recursive: true });
  await writeFile(
    join(folder, 'project.yaml'),
    projectYaml(ids, { epoch: '2025.0', processingInterval: '24 h' }),
  );
  const random = source(1);
  const starts = ids.map((_, i) => geocentric(placeOf(i)));
  const axes = axesAt(placeOf(0));
  let rows = 0;
  let out: ReturnType<typeof createWriteStream> | undefined;
  let month = '';
  for (let step = 0; step < (days * 86_400_000) / stepMs; step++) {
    const time = `${new Date(firstMs + step * stepMs).toISOString().slice(0, 19)}Z`;
    if (time.slice(0, 7) !== month) {
      month = time.slice(0, 7);
      if (out) await closed(out);
      out = createWriteStream(join(folder, 'positions', `${month}.csv`));
      out.write('time,station,x,y,z,cxx,cxy,cxz,cyy,cyz,czz\n');
    }
    const scale = 0.8 + 0.4 * random.uniform();
    const c = [2.1e-6, 3.1e-7, 8.2e-7, 1.1e-6, 1.9e-7, 2.4e-6].map((v) => (v * scale).toExponential(4));
    const lines = ids.map((id, i) => {
      const [e, n, u] = [0.003 * random.normal(), 0.003 * random.normal(), 0.006 * random.normal()];
      const xyz = [0, 1, 2].map((k) =>
        (starts[i]![k]! + axes.east[k]! * e + axes.north[k]! * n + axes.up[k]! * u).toFixed(4),
      );
      return `${time},${id},${xyz.join(',')},${c.join(',')}\n`;
    });
    rows += lines.length;
    if (!out!.write(lines.join(''))) await once(out!, 'drain');
  }
  await closed(out!);
  const files = await readdir(join(folder, 'positions'));
  const sizes = await Promise.all(files.map((f) => stat(join(folder, 'positions', f))));
  return { rows, bytes: sizes.reduce((s, { size }) => s + size, 0) };
}

async function closed(stream: ReturnType<typeof createWriteStream>): Promise<void> {
  stream.end();
  await once(stream, 'close');
}

interface Measured {
  readonly seconds: number;
  readonly mebibytes: number;
}

const tellMemory = `data:text/javascript,${encodeURIComponent(
  'process.on("exit", () => process.stderr.write("\\nmaxrss " + process.resourceUsage().maxRSS + "\\n"))',
)}`;

async function measure(name: string, args: readonly string[]): Promise<Measured> {
  const start = process.hrtime.bigint();
  const child = spawn(process.execPath, ['--import', tellMemory, ...args], {
    stdio: ['ignore', 'ignore', 'pipe'],
  });
  let err = '';
  child.stderr.setEncoding('utf8').on('data', (t: string) => (err += t));
  const [code] = (await once(child, 'close')) as [number];
  if (code !== 0) throw new Error(`${name} ended with ${code}: ${err}`);
  const seconds = Number(process.hrtime.bigint() - start) / 1e9;
  const mebibytes = Number(/maxrss (\d+)/.exec(err)![1]) / 1024;
  console.log(
    `${name.padEnd(28)} ${seconds.toFixed(1).padStart(7)} s ${mebibytes.toFixed(0).padStart(7)} MiB`,
  );
  return { seconds, mebibytes };
}

const folder = await mkdtemp(join(tmpdir(), 'stillmark-benchmark-'));
try {
  const { rows, bytes } = await writeProject(folder);
  console.log(
    `${rows} rows, ${(bytes / 1e6).toFixed(0)} MB of CSV; Node ${process.version}, ${cpus().length} cores`,
  );
  const averages = `import { DuckDBInstance } from '@duckdb/node-api';
    const db = await (await DuckDBInstance.create(':memory:')).connect();
    await db.run("CREATE TABLE hourly AS SELECT station, time_bucket(INTERVAL 1 HOUR, time) AS hour, avg(x), avg(y), avg(z) FROM read_csv('${folder}/positions/*.csv') GROUP BY ALL");`;
  const script = join(import.meta.dirname, '../../packages/store/.averages.mjs');
  await writeFile(script, averages);
  const reference = await measure('reference: hourly averages', [script]);
  await rm(script);
  const command = (...args: string[]): Promise<Measured> => measure(args[0]!, [built, ...args]);
  const check = await command('check', folder);
  const ingest = await command('ingest', folder);
  await command('commit', folder, ...ids, '--from', '2025-01-02', '--to', '2025-01-30', '--by', 'benchmark');
  const snapshot = await command('snapshot', folder, '--out', `${folder}/site`);
  await command('ingest', folder);
  const seconds = check.seconds + ingest.seconds + snapshot.seconds;
  console.log(
    `check + ingest + snapshot: ${seconds.toFixed(1)} s, ${(seconds / reference.seconds).toFixed(1)} times the reference; ` +
      `peak ${Math.max(check.mebibytes, ingest.mebibytes, snapshot.mebibytes).toFixed(0)} MiB`,
  );
} finally {
  await rm(folder, { recursive: true, force: true });
}
