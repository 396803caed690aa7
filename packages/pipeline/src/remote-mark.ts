import { join } from 'node:path';
import { fail } from '@stillmark/problems';
import type { Files } from './effects.ts';

/** Beside the tables of a store that stands in object storage: where, and what of it is here. */
export interface RemoteMark {
  readonly address: string;
  /** Files that are here as they stand there, or were before rows were added here: by path in the store. */
  readonly files: Map<string, SeenFile>;
  /** Where the storage was asked for; empty where that follows from the address. */
  readonly endpoint: string;
  /** Files of tables that hold less than they did, until what was delivered for them was read again. */
  readonly doubted: Set<string>;
  /** Whether the storage writes nothing over what it was not told of; absent where nothing was written yet. */
  heedsConditions?: boolean;
}

export interface SeenFile {
  readonly etag: string;
  /** What {@link Files.stamp} said of the file when it was the same here and there, and the hash of it; both empty where it never was. */
  readonly stamp: string;
  readonly sha256: string;
}

const name = 'remote.json';
const format = 'stillmark-remote-store';

/** @throws STORE_UNREADABLE where the file is there and is none */
export async function readRemoteMark(store: string, files: Files): Promise<RemoteMark | undefined> {
  const path = join(store, name);
  const bytes = await files.read(path);
  if (!bytes) return undefined;
  try {
    const read = JSON.parse(new TextDecoder().decode(bytes)) as Omit<RemoteMark, 'files' | 'doubted'> & {
      readonly format?: unknown;
      readonly files: Readonly<Record<string, SeenFile>>;
      readonly doubted: readonly string[];
    };
    if (read.format !== format || typeof read.address !== 'string') throw new Error('another file');
    return {
      address: read.address,
      endpoint: read.endpoint,
      doubted: new Set(read.doubted),
      files: new Map(Object.entries(read.files)),
      ...(read.heedsConditions === undefined ? {} : { heedsConditions: read.heedsConditions }),
    };
  } catch {
    return fail('STORE_UNREADABLE', 'where the store stands in object storage cannot be read', {
      at: { file: path },
      hint: 'to move the file away, and to give --store-at once more',
    });
  }
}

export async function writeRemoteMark(store: string, mark: RemoteMark, files: Files): Promise<void> {
  const { files: seen, doubted, ...rest } = mark;
  const sorted = Object.fromEntries([...seen].sort(([a], [b]) => (a < b ? -1 : 1)));
  const text = `${JSON.stringify({ format, ...rest, doubted: [...doubted].sort(), files: sorted }, undefined, 1)}\n`;
  const path = join(store, name);
  const before = await files.read(path);
  if (before === undefined || new TextDecoder().decode(before) !== text) await files.write(path, text);
}
