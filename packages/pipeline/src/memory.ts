import { createHash, randomUUID } from 'node:crypto';
import {
  mkdirSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { deserialize, serialize } from 'node:v8';
import type { Remember } from '@stillmark/analysis';
import { dayMs } from '@stillmark/records';

/** Where results are kept, and what they hang on beside their inputs: the code that computed them. */
export interface MemoryPlace {
  readonly folder: string;
  readonly code: string;
}

/** What was not asked for in this time is thrown away; and what was asked for longest ago, where all together is more than so many bytes. */
const keptMs = 60 * dayMs;
const mostBytes = 256 * 2 ** 20;
const hashLength = 32;

/**
 * Remembers results on disk, by the hash of everything that they were computed from. A file that is missing, damaged or not to be written
 * costs time and nothing else. Synchronous, since computations are.
 */
export function rememberIn({ folder, code }: MemoryPlace): Remember {
  return <T>(name: string, inputs: readonly unknown[], compute: () => T): T => {
    const path = join(folder, keyOf([code, name, inputs]));
    const known = read(path);
    if (known) return known.value as T;
    const value = compute();
    write(folder, path, value);
    return value;
  };
}

/**
 * The hash of plain data by its values alone, each with its kind and length: two that differ have different ones. (What v8 writes of equal
 * values depends on how the engine happens to hold them.)
 */
export function keyOf(data: unknown): string {
  const hash = createHash('sha256');
  const tell = (value: unknown): void => {
    if (typeof value === 'number') hash.update('#').update(new Uint8Array(Float64Array.of(value).buffer));
    else if (typeof value === 'string') hash.update(`s${value.length}:${value}`, 'utf16le');
    else if (value === undefined || value === null || typeof value === 'boolean') hash.update(`${value};`);
    else if (ArrayBuffer.isView(value)) {
      hash.update(`${value.constructor.name}${value.byteLength}:`);
      hash.update(new Uint8Array(value.buffer, value.byteOffset, value.byteLength));
    } else if (Array.isArray(value)) {
      hash.update(`a${value.length}:`);
      value.forEach(tell);
    } else if (Object.getPrototypeOf(value) === Object.prototype) {
      const entries = Object.entries(value);
      hash.update(`o${entries.length}:`);
      entries.forEach(tell);
    } else throw new Error(`${typeof value} is no plain data`);
  };
  tell(data);
  return hash.digest('hex');
}

function read(path: string): { readonly value: unknown } | undefined {
  try {
    const bytes = readFileSync(path);
    const [hash, body] = [bytes.subarray(0, hashLength), bytes.subarray(hashLength)];
    if (!createHash('sha256').update(body).digest().equals(hash)) return undefined;
    touch(path);
    return { value: (deserialize(body) as [unknown])[0] };
  } catch {
    return undefined;
  }
}

/** Tells the sweep that a result is still of use; of a store that may only be read it stands all the same. */
function touch(path: string): void {
  try {
    const now = new Date();
    utimesSync(path, now, now);
  } catch {
    // Nothing depends on it.
  }
}

function write(folder: string, path: string, value: unknown): void {
  const partial = `${path}.${randomUUID()}.partial`;
  try {
    mkdirSync(folder, { recursive: true });
    const body = serialize([value]);
    writeFileSync(partial, Buffer.concat([createHash('sha256').update(body).digest(), body]));
    renameSync(partial, path);
  } catch {
    // A full disk or a folder that may only be read: the result is there all the same.
    rmSync(partial, { force: true });
  }
}

/** Throws away what has not been asked for in two months or is too much, and what a stopped command left half written. */
export function sweepMemory({ folder }: MemoryPlace, nowMs: number, most = mostBytes): void {
  try {
    const found = readdirSync(folder).map((name) => {
      const path = join(folder, name);
      const { size, mtimeMs } = statSync(path);
      return { path, size, mtimeMs, partial: name.endsWith('.partial') };
    });
    let held = 0;
    for (const { path, size, mtimeMs, partial } of found.sort((a, b) => b.mtimeMs - a.mtimeMs)) {
      const age = nowMs - mtimeMs;
      held += size;
      if (age > keptMs || held > most || (partial && age > dayMs)) rmSync(path, { force: true });
    }
  } catch {
    // There is none, or it may not be swept.
  }
}
