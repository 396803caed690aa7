import { join } from 'node:path';
import { formatProblem, hasErrors, ProblemError, type Problem } from '@stillmark/problems';
import { dayMs, formatInstant } from '@stillmark/records';
import { readBackgroundOf } from './background.ts';
import { sourcesOf } from './deliveries.ts';
import { hashOfFile, partsOf } from './delivered-file.ts';
import { allOf, type Delivery, type Source } from './delivery.ts';
import type { Effects } from './effects.ts';
import { changeLedger, readLedger, type LedgerEntry } from './ledger.ts';
import { readOutlineOf } from './outline.ts';
import {
  checkInside,
  filesOf,
  openCommitments,
  openProject,
  projectFile,
  storeFolder,
  type ProjectFolder,
} from './project-folder.ts';
import { openUpToDate, pushStore } from './remote-store.ts';
import { writeStoreVersion } from './store-version.ts';
import { readWordsOf } from './words-file.ts';

export interface DeliveredFile {
  readonly file: string;
  readonly rows: number;
  readonly rejected: number;
  /** Absent where the file was only checked. */
  readonly added?: number;
  readonly repeated?: number;
}

export interface IngestResult {
  readonly files: readonly DeliveredFile[];
  readonly problems: readonly Problem[];
}

/** Reads everything that `ingest` and `snapshot` would read and reports every problem; writes nothing. */
export async function check(folder: string, effects: Effects): Promise<IngestResult> {
  const opened = await openProject(folder, effects.files);
  const problems: Problem[] = [];
  const collect = (error: unknown): unknown => problems.push(...problemsOf(error));
  await openCommitments(opened, effects.files).catch(collect);
  await readOutlineOf(opened, effects.files).catch(collect);
  await readBackgroundOf(opened, effects.files).catch(collect);
  await readWordsOf(opened, effects.files).then((own) => problems.push(...(own?.problems ?? [])), collect);
  const read = await eachDelivery(opened, effects, undefined, ({ file, delivery }) => ({
    file,
    rows: delivery.rows,
    rejected: delivery.rejected.length,
  }));
  // Before the first delivery nothing is missing yet; later a pattern without files is a mistake.
  const begun = read.results.length > 0 || (await opened.store.partitions()).length > 0;
  const found = read.problems.map((p): Problem =>
    begun || p.code !== 'INPUT_NONE' || p.at?.file !== projectFile ? p : { ...p, severity: 'warning' },
  );
  return { files: read.results, problems: [...problems, ...found] };
}

/**
 * Adds the positions and readings of all delivered files to the store. Idempotent. Rows that cannot be read are listed in
 * `store/rejects`; a file that cannot be read at all is left out and told; everything else goes in.
 *
 * @param storeAt address of a store in object storage, by `parseAddress`; the folder remembers it
 */
export async function ingest(folder: string, effects: Effects, storeAt?: string): Promise<IngestResult> {
  const opened = await openUpToDate(folder, effects, storeAt);
  const ledger = await readLedger(opened, effects);
  const entries = new Map<string, LedgerEntry>();
  const months = new Set(
    (await Promise.all([opened.store, opened.readings, opened.tracking].map((table) => table.partitions())))
      .flat()
      .map(({ path }) => path)
      // What one of these held before is not sure to be in it now.
      .filter((path) => opened.remote?.doubted.has(path) !== true),
  );
  const known: Known = async (source, file, hash) => {
    const entry = ledger.get(`${source.what} ${file} ${hash}`);
    if (entry?.manner !== source.manner || entry.rejected > 0 || !stands(entry, source, months))
      return undefined;
    // Orbits come within days: of old files they are not waited for.
    const young = Date.parse(entry.last ?? '') > effects.nowMs() - waitMs;
    const waits = entry.lacked !== undefined && young && entry.lacked !== (await source.beside?.());
    return waits ? undefined : { rows: entry.rows, rejected: [], added: 0 };
  };
  const { results, problems } = await eachDelivery(opened, effects, known, async (read) => {
    const { file, source, hash, delivery } = read;
    await writeRejects(opened, file, source, delivery, effects);
    const key = `${source.what} ${file} ${hash}`;
    if (delivery.firstMs !== undefined || !ledger.has(key)) entries.set(key, await entryOf(read));
    const { rows, added } = delivery;
    return { file, rows, rejected: delivery.rejected.length, added, repeated: rows - added };
  });
  // Where nothing was read, no store is begun.
  if (entries.size > 0) await changeLedger(opened, (now) => new Map([...now, ...entries]), effects);
  await writeStoreVersion(join(opened.folder, storeFolder), effects.files);
  const noticed = opened.remote?.problems ?? [];
  const sent = await pushStore(opened, !hasErrors(problems), effects);
  return { files: results, problems: [...noticed, ...problems, ...sent] };
}

/** So long what lacks something beside it is read again when that changes. */
const waitMs = 60 * dayMs;

/** What a file holds that stands in the store already; undefined where it has to be read. */
type Known = (source: Source, file: string, hash: string) => Promise<Delivery | undefined>;

interface ReadFile {
  readonly file: string;
  readonly source: Source;
  readonly hash: string;
  readonly delivery: Delivery;
}

/**
 * Goes through all files that a project expects; a file that cannot be used is told, and the next one is read.
 *
 * @param known what a file holds that stands in the store already; undefined where nothing is to be added at all
 */
async function eachDelivery<T>(
  opened: ProjectFolder,
  effects: Effects,
  known: Known | undefined,
  done: (read: ReadFile) => T | Promise<T>,
): Promise<{ results: T[]; problems: Problem[] }> {
  const { files, progress } = effects;
  const results: T[] = [];
  const problems: Problem[] = [];
  for (const source of sourcesOf(opened, effects)) {
    const found = await filesOf(opened, source, files);
    problems.push(...found.problems);
    for (const file of found.paths) {
      progress(`${known ? 'reading' : 'checking'} ${file}`);
      const path = join(opened.folder, file);
      let hash: string;
      let delivery: Delivery;
      try {
        await checkInside(opened, file, files);
        // What is only checked is known by no hash.
        hash = known ? await hashOfFile(path, files) : '';
        delivery = (await known?.(source, file, hash)) ?? (await readParts(source, file, path));
      } catch (error) {
        problems.push(...problemsOf(error));
        continue;
      }
      problems.push(...delivery.rejected.map((r) => r.problem));
      results.push(await done({ file, source, hash, delivery }));
    }
    problems.push(...((await source.problems?.()) ?? []));
  }
  return { results, problems };

  async function readParts(source: Source, file: string, path: string): Promise<Delivery> {
    const read: Delivery[] = [];
    for (const part of await partsOf(path, file, files))
      read.push(await source.read(file, part, known !== undefined));
    return allOf(read);
  }
}

function problemsOf(error: unknown): readonly Problem[] {
  if (error instanceof ProblemError) return error.problems;
  throw error;
}

/**
 * `store/rejects/positions__march.csv.txt`: removed again when the file is delivered without faults. A file may be read for its positions
 * and for what else it tells: each has a list of its own.
 */
async function writeRejects(
  { folder }: ProjectFolder,
  file: string,
  { what, table }: Source,
  { rejected }: Delivery,
  { files }: Effects,
): Promise<void> {
  const whose = table === 'epochs' ? '' : `.${what.replace(/[^A-Za-z0-9_-]+/g, '-')}`;
  const path = join(folder, storeFolder, 'rejects', `${file.replaceAll('/', '__')}${whose}.txt`);
  if (rejected.length === 0) await files.remove(path);
  else await files.write(path, rejected.map((r) => `${formatProblem(r.problem)}\n`).join('\n'));
}

async function entryOf({ file, source, hash, delivery }: ReadFile): Promise<LedgerEntry> {
  const { rows, rejected, firstMs, lastMs, lacking } = delivery;
  return {
    file,
    sha256: hash,
    source: source.what,
    manner: source.manner,
    rows,
    rejected: rejected.length,
    ...(lacking === true ? { lacked: (await source.beside?.()) ?? '' } : {}),
    ...(firstMs === undefined ? {} : { first: formatInstant(firstMs) }),
    ...(lastMs === undefined ? {} : { last: formatInstant(lastMs) }),
  };
}

/** True where the store has files for every month from the first to the last of a delivery. */
function stands({ first, last }: LedgerEntry, { table }: Source, paths: ReadonlySet<string>): boolean {
  if (first === undefined || last === undefined) return false;
  const end = last.slice(0, 7);
  let [year, month] = first.split('-').map(Number) as [number, number];
  for (;;) {
    const name = `${year}-${String(month).padStart(2, '0')}`;
    // A month in which nothing was delivered has no file; then the delivery is read again, which changes nothing.
    if (!paths.has(`${table}/month=${name}/${table}.parquet`)) return false;
    if (name >= end) return true;
    [year, month] = month === 12 ? [year + 1, 1] : [year, month + 1];
  }
}
