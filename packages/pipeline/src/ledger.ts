import { join } from 'node:path';
import { fail } from '@stillmark/problems';
import { lockWaitMs, storeLock, withLock } from '@stillmark/store';
import type { Effects } from './effects.ts';
import { storeFolder, type ProjectFolder } from './project-folder.ts';

/** What was delivered: the way back from the store to the files it came from. */
export interface LedgerEntry {
  readonly file: string;
  readonly sha256: string;
  readonly source: string;
  /** How it was read: see {@link Source.manner}. */
  readonly manner: string;
  readonly rows: number;
  readonly rejected: number;
  /** Beside what it was read, where that did not reach over its time. */
  readonly lacked?: string;
  readonly first?: string;
  readonly last?: string;
}

/** Name of the list in the store. */
export const ledgerFile = 'deliveries.json';

const ledgerPath = ({ folder }: ProjectFolder): string => join(folder, storeFolder, ledgerFile);

/** Everything that was delivered, by source, file and hash. */
export async function readLedger(
  opened: ProjectFolder,
  { files }: Pick<Effects, 'files'>,
): Promise<Map<string, LedgerEntry>> {
  const path = ledgerPath(opened);
  const bytes = await files.read(path);
  return bytes ? parseLedger(bytes, path) : new Map();
}

/** @throws STORE_UNREADABLE, at a path, where the bytes are no such list */
export function parseLedger(bytes: Uint8Array, path: string): Map<string, LedgerEntry> {
  try {
    const entries = JSON.parse(new TextDecoder().decode(bytes)) as LedgerEntry[];
    return new Map(entries.map((entry) => [`${entry.source} ${entry.file} ${entry.sha256}`, entry]));
  } catch {
    return fail('STORE_UNREADABLE', 'the list of deliveries cannot be read', {
      at: { file: path },
      hint: 'the file as it was written; or to move it away, and the next ingest begins a new one',
    });
  }
}

/** What either of two lists knows; of one delivery that which lacks nothing. */
export function bothLedgers(
  ours: ReadonlyMap<string, LedgerEntry>,
  theirs: ReadonlyMap<string, LedgerEntry>,
): Map<string, LedgerEntry> {
  const both = new Map(ours);
  for (const [key, entry] of theirs) {
    const own = both.get(key);
    if (!own || (own.lacked !== undefined && entry.lacked === undefined)) both.set(key, entry);
  }
  return both;
}

/**
 * Writes the list with something changed, from how it stands by then: another command of this machine may have written it meanwhile.
 *
 * @throws USE_LOCKED where another command writes to the store for longer than a minute
 */
export async function changeLedger(
  opened: ProjectFolder,
  change: (now: ReadonlyMap<string, LedgerEntry>) => ReadonlyMap<string, LedgerEntry>,
  { files }: Pick<Effects, 'files'>,
): Promise<void> {
  const path = ledgerPath(opened);
  await files.makeFolder(opened.store.folder);
  await withLock(
    storeLock(opened.store.folder),
    'store',
    async () => {
      const before = await files.read(path);
      const ledger = change(before ? parseLedger(before, path) : new Map());
      if (ledger.size === 0) return;
      const entries = [...ledger].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, entry]) => entry);
      const text = `${JSON.stringify(entries, undefined, 1)}\n`;
      // What says nothing new is not written: a changed file would be sent to where the store stands.
      if (before === undefined || new TextDecoder().decode(before) !== text) await files.write(path, text);
    },
    lockWaitMs,
  );
}
