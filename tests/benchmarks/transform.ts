/**
 * A million points from geocentric to geodetic, whole processes with reading and writing the text: `stillmark transform` against
 * PROJ's `cct` (Debian's proj-bin) on the same points: `node tests/benchmarks/transform.ts`. Prints; asserts nothing.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, openSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { source } from '@stillmark/data/synthetic/noise.ts';
import { built } from '../support/command.ts';

const n = 1_000_000;
const random = source(2);
const folder = mkdtempSync(join(tmpdir(), 'stillmark-transform-'));
const points = Array.from({ length: n }, () => {
  const [lat, lon, r] = [
    Math.PI * (random.uniform() - 0.5),
    2 * Math.PI * random.uniform(),
    6_371_000 + 9000 * random.uniform(),
  ];
  return [r * Math.cos(lat) * Math.cos(lon), r * Math.cos(lat) * Math.sin(lon), r * Math.sin(lat)].map((v) =>
    v.toFixed(4),
  );
});
writeFileSync(join(folder, 'points.csv'), `x,y,z\n${points.map((p) => p.join(',')).join('\n')}\n`);
writeFileSync(join(folder, 'points.txt'), `${points.map((p) => `${p.join(' ')} 0`).join('\n')}\n`);

/** Least of three runs, with the output in a file as a user would have it. */
function seconds(program: string, args: readonly string[]): number | undefined {
  let least = Infinity;
  for (let i = 0; i < 3; i++) {
    const out = openSync(join(folder, 'out.txt'), 'w');
    const start = process.hrtime.bigint();
    const ended = spawnSync(program, args, { stdio: ['ignore', out, 'inherit'] });
    if (ended.error) return undefined;
    if (ended.status !== 0) throw new Error(`${program} ended with ${ended.status}`);
    least = Math.min(least, Number(process.hrtime.bigint() - start) / 1e9);
  }
  return least;
}

const ours = seconds(process.execPath, [
  built,
  'transform',
  join(folder, 'points.csv'),
  '--output',
  'geodetic',
])!;
console.log(`stillmark transform  ${ours.toFixed(1)} s`);
const theirs = seconds('cct', ['-d', '9', '-I', '+proj=cart', '+ellps=GRS80', join(folder, 'points.txt')]);
console.log(
  theirs === undefined
    ? 'cct is not installed (Debian: proj-bin)'
    : `cct                  ${theirs.toFixed(1)} s, ours ${(ours / theirs).toFixed(2)} times`,
);
rmSync(folder, { recursive: true });
