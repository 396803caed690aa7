import { createHash } from 'node:crypto';
import { mkdir, mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { EpochStore, ReadingStore, TrackingStore, type ObjectStorage } from '@stillmark/store';
import { afterEach, beforeEach, expect, test } from 'vitest';
import type { Effects, Files } from './effects.ts';
import { changeLedger, ledgerFile, parseLedger, type LedgerEntry } from './ledger.ts';
import { nodeFiles } from './node-files.ts';
import type { ProjectFolder } from './project-folder.ts';
import { RemoteCopy } from './remote-copy.ts';
import { readRemoteMark } from './remote-mark.ts';
import { writeStoreVersion } from './store-version.ts';

// Three machines that ingest into one store, each of them stopped at any call to the disk or to the storage, with answers that are lost: whatever
// a machine has added is there in the end, once, and no list of deliveries ever tells of rows that are not there.

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-copies-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const address = 's3://works/store';
const months = ['2026-03', '2026-04', '2026-05'];

/** Numbers in [0, 1) that a seed determines (how the machines meet hangs on the disk, too): the generator of Numerical Recipes (from memory). */
function numbers(seed: number): () => number {
  let state = seed >>> 0;
  return () => (state = (state * 1_664_525 + 1_013_904_223) >>> 0) / 2 ** 32;
}

class Stopped extends Error {}

test.each([1, 2, 3, 4])(
  'no row is lost and none is told too early (seed %i)',
  async (seed) => {
    const random = numbers(seed);
    const objects = new Map<string, Uint8Array>();
    const etagOf = (bytes: Uint8Array | undefined): string | undefined =>
      bytes && createHash('md5').update(bytes).digest('hex');
    const early: string[] = [];
    let stopRate = 0.03;

    /** A command's world, which ends at some call. */
    const world = (): { storage: ObjectStorage; effects: Effects } => {
      let stopped = false;
      const mayStop = (): void => {
        stopped ||= random() < stopRate;
        if (stopped) throw new Stopped();
      };
      const storage: ObjectStorage = {
        address,
        endpoint: '',
        async list() {
          mayStop();
          return Promise.resolve([...objects].map(([path, bytes]) => ({ path, etag: etagOf(bytes)! })));
        },
        has: (path) => Promise.resolve(objects.has(path)),
        async read({ path, etag }) {
          mayStop();
          const bytes = objects.get(path);
          if (etagOf(bytes) !== etag) return Promise.resolve(undefined);
          return (async function* () {
            yield await Promise.resolve(bytes!);
          })();
        },
        async write(path, bytes, etag) {
          mayStop();
          if (etagOf(objects.get(path)) !== etag) return Promise.resolve(undefined);
          objects.set(path, bytes);
          if (path === ledgerFile)
            for (const { file } of parseLedger(bytes, path).values())
              if (!(await rowsThere()).has(file)) early.push(file);
          mayStop();
          // The answer is lost, and the second attempt of the client meets what the first has written.
          return random() < 0.1 ? undefined : etagOf(bytes);
        },
      };
      const files: Files = {
        ...nodeFiles,
        ...Object.fromEntries(
          (['write', 'rename', 'remove', 'makeFolder'] as const).map((name) => [
            name,
            async (...given: never[]) => {
              mayStop();
              await (nodeFiles[name] as (...all: never[]) => Promise<void>)(...given);
              mayStop();
            },
          ]),
        ),
      };
      return { storage, effects: { files, progress: () => {}, nowMs: () => 0 } };
    };

    /** The numbers of the deliveries whose row is over there: each is the second of its month. */
    const rowsThere = async (): Promise<Map<string, number>> => {
      const place = await mkdtemp(join(folder, 'there-'));
      for (const [path, bytes] of objects) await nodeFiles.write(join(place, path), bytes);
      const found = new Map<string, number>();
      for (const stations of (await new EpochStore(place).read(Number.MAX_SAFE_INTEGER)).values())
        for (const { timesMs } of stations.values())
          for (const time of timesMs) {
            const name = String((time / 1000) % 86_400);
            found.set(name, (found.get(name) ?? 0) + 1);
          }
      return found;
    };

    const openedAt = (name: string): ProjectFolder => {
      const place = join(folder, name);
      const store = join(place, 'store');
      // As far as a copy looks at it.
      return {
        folder: place,
        store: new EpochStore(store),
        readings: new ReadingStore(store),
        tracking: new TrackingStore(store),
      } as ProjectFolder;
    };
    const added = new Set<string>();
    let next = 1;
    const command = async (name: string, ingests: boolean): Promise<void> => {
      const { storage, effects } = world();
      const opened = openedAt(name);
      const store = join(opened.folder, 'store');
      await mkdir(store, { recursive: true });
      const copyNow = async (): Promise<RemoteCopy> => {
        const mark = (await readRemoteMark(store, nodeFiles)) ?? {
          address,
          endpoint: '',
          files: new Map(),
          doubted: new Set<string>(),
        };
        return new RemoteCopy(opened, mark, storage, effects);
      };
      try {
        await (await copyNow()).bring();
        if (!ingests) return;
        const entries = new Map<string, LedgerEntry>();
        for (let k = 0; k <= 2 * random(); k++) {
          const id = String(next++);
          const timeMs = Date.parse(`${months[Math.floor(3 * random())]}-01T00:00:00Z`) + 1000 * Number(id);
          const row = { stream: 's', station: 'P', timeMs, x: 1, y: 2, z: 3, covariance: [1, 0, 0, 1, 0, 1] } as const; // prettier-ignore
          await opened.store.add([{ ...row, covariance: [...row.covariance] }]);
          added.add(id);
          entries.set(id, { file: id, sha256: id, source: 's', manner: 'm', rows: 1, rejected: 0 });
        }
        await changeLedger(opened, (now) => new Map([...now, ...entries]), effects);
        await writeStoreVersion(store, effects.files);
        await (await copyNow()).send();
      } catch (error) {
        if (!(error instanceof Stopped)) throw error;
      }
    };

    const machines = ['a', 'b', 'c'];
    for (let round = 0; round < 8; round++)
      await Promise.all(machines.map((name) => command(name, random() < 0.7)));
    stopRate = 0;
    for (const name of machines) await command(name, true);
    expect(early).toEqual([]);
    expect(await rowsThere()).toEqual(new Map([...added].map((id) => [id, 1])));
    for (const name of machines) {
      await command(name, false);
      for (const month of months) {
        const path = `epochs/month=${month}/epochs.parquet`;
        const here = await readFile(join(folder, name, 'store', path)).catch(() => undefined);
        expect(etagOf(here)).toBe(etagOf(objects.get(path)));
      }
    }
  },
  60_000,
);
