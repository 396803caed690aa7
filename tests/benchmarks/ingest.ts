/**
 * `ingest` of positions in CSV against DuckDB's own reading of the same files and writing of them as Parquet by months, in the same run:
 * `node tests/benchmarks/ingest.ts [megabytes]` (200 unless said), after `npm run demo` has built the command. Prints seconds and the ratio;
 * asserts nothing.
 */
import { spawn } from 'node:child_process';
import { mkdir, mkdtemp, readdir, rm, stat, writeFile } from 'node:fs/promises';
import { availableParallelism, tmpdir } from 'node:os';
import { join } from 'node:path';
import { DuckDBInstance } from '@duckdb/node-api';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { geocentric } from '@stillmark/data/synthetic/place.ts';
import { built } from '../support/command.ts';
import { idsOf, placeOf, projectYaml } from '../support/network.ts';

const megabytes = Number(process.argv[2] ?? 200);
const folder = await mkdtemp(join(tmpdir(), 'stillmark-ingest-'));
const project = join(folder, 'project');
await mkdir(join(project, 'positions'), { recursive: true });
const ids = idsOf(50);
await writeFile(
  join(project, 'project.yaml'),
  projectYaml(ids, { epoch: '2026.0', processingInterval: '1 h' }),
);
const random = source(1);
const starts = ids.map((_, i) => geocentric(placeOf(i)));
let bytes = 0;
for (let month = 1; bytes < megabytes * 1e6; month++) {
  let text = 'time,station,x,y,z,cxx,cxy,cxz,cyy,cyz,czz\n';
  const from = Date.UTC(2024, month, 1);
  for (let t = from; t < from + 28 * 86_400_000; t += 600_000) {
    const time = `${new Date(t).toISOString().slice(0, 19)}Z`;
    for (const [i, id] of ids.entries()) {
      const xyz = starts[i]!.map((v) => (v + 0.003 * random.normal()).toFixed(4));
      text += `${time},${id},${xyz.join(',')},2.1e-6,3.1e-7,8.2e-7,1.1e-6,1.9e-7,2.4e-6\n`;
    }
  }
  const name = new Date(from).toISOString().slice(0, 7);
  await writeFile(join(project, `positions/${name}.csv`), text);
  bytes += (await stat(join(project, `positions/${name}.csv`))).size;
}
const timed = async (work: () => Promise<unknown>): Promise<number> => {
  const start = process.hrtime.bigint();
  await work();
  return Number(process.hrtime.bigint() - start) / 1e9;
};
const reference = await timed(async () => {
  const instance = await DuckDBInstance.create(':memory:', { threads: String(availableParallelism()) });
  const db = await instance.connect();
  for (const name of await readdir(join(project, 'positions')))
    await db.run(
      `COPY (SELECT * FROM read_csv('${join(project, 'positions', name)}')) TO '${join(folder, `${name}.parquet`)}' (FORMAT parquet, COMPRESSION zstd)`,
    );
  db.closeSync();
  instance.closeSync();
});
const ours = await timed(
  () =>
    new Promise<void>((resolve, reject) => {
      const child = spawn(process.execPath, [built, 'ingest', project], {
        stdio: ['ignore', 'ignore', 'inherit'],
      });
      child.on('close', (code) => (code === 0 ? resolve() : reject(new Error('ingest'))));
    }),
);
console.log(
  `${(bytes / 1e6).toFixed(0)} MB: DuckDB alone ${reference.toFixed(2)} s, ingest ${ours.toFixed(2)} s; ratio ${(ours / reference).toFixed(1)} (aim: at most 2)`,
);
await rm(folder, { recursive: true, force: true });
