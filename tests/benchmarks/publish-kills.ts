/**
 * Kills `publish` at random moments: `node tests/benchmarks/publish-kills.ts [kills] [seed]` (300 unless said), after `npm run demo` has built the
 * command. A reader asks nginx (where it is installed, else a server of Node) for `latest` all the time, and must never be answered with anything but
 * a page of a whole snapshot. Ends with an error where that is not so.
 */
import { chmod, mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { mustRun } from '../support/command.ts';
import { makeDemo } from '../support/demo-site.ts';
import { killPublishing } from '../support/publish-kills.ts';

const random = source(Number(process.argv[3] ?? 1));
const folder = await mkdtemp(join(tmpdir(), 'stillmark-publish-kills-'));
await chmod(folder, 0o755);
const [project, newest] = [join(folder, 'project'), join(folder, 'newest')];
await makeDemo(project, newest);
const sites = [newest];
for (const day of ['2026-11-01', '2026-11-10', '2026-11-20']) {
  sites.push(join(folder, day));
  await mustRun(['snapshot', project, '--out', join(folder, day), '--as-of', day]);
}
const began = performance.now();
const seen = await killPublishing(folder, sites, Number(process.argv[2] ?? 300), () => random.uniform());
console.log(
  `${seen.kills} kills in ${Math.round((performance.now() - began) / 1000)} s; by ${seen.host} ${seen.reads} answers, all of whole snapshots: ${seen.pairs} pairs of page and manifest, ${seen.switches} switches of latest seen`,
);
await rm(folder, { recursive: true, force: true });
