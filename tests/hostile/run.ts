/**
 * Reads spoilt files by every reader: `node tests/hostile/run.ts [inputs in all] [seed]` (200 000 unless said). Ends with 1 and the least
 * spoiling that brings a reader down, holds it up or makes it refuse without a name.
 */
import { attack } from './attack.ts';
import { readers } from './readers.ts';

const total = Number(process.argv[2] ?? 200_000);
const seed = Number(process.argv[3] ?? 1);
const each = Math.ceil(total / readers.length);
const before = process.memoryUsage().rss;
for (const reader of readers) {
  const { read, refused, slowestMs } = await attack(reader, each, seed);
  console.log(`${reader.name}: ${read} read, ${refused} refused, the slowest in ${Math.round(slowestMs)} ms`);
}
const grown = (process.memoryUsage().rss - before) / 2 ** 20;
console.log(`${each * readers.length} inputs; memory grew by ${Math.round(grown)} MiB`);
