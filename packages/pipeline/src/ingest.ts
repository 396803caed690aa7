import { join } from 'node:path';
import { readPositions, type PositionsFile } from '@stillmark/formats';
import { fail, formatProblem, ProblemError, type Problem } from '@stillmark/problems';
import type { Stream } from '@stillmark/project';
import { dayMs, formatInstant } from '@stillmark/records';
import type { Effects } from './effects.ts';
import {
  approximatePosition,
  filesOf,
  openCommitments,
  openProject,
  sha256,
  storeFolder,
  type ProjectFolder,
} from './project-folder.ts';

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
  const { files, progress } = effects;
  const opened = await openProject(folder, files);
  const problems: Problem[] = [];
  await openCommitments(opened, files).catch((error: unknown) => problems.push(...problemsOf(error)));
  const delivered: DeliveredFile[] = [];
  for (const stream of opened.project.streams) {
    const found = await filesOf(opened, stream, files);
    problems.push(...found.problems);
    for (const file of found.paths) {
      progress(`checking ${file}`);
      const read = await readDelivery(opened, stream, file, effects).catch((error: unknown) =>
        problems.push(...problemsOf(error)),
      );
      if (typeof read !== 'object') continue;
      problems.push(...read.rejected.map((r) => r.problem));
      delivered.push({ file, rows: read.rows.length, rejected: read.rejected.length });
    }
  }
  return { files: delivered, problems };
}

/**
 * Adds the positions of all delivered files to the store. Idempotent. Rows that cannot be read are listed in
 * `store/rejects`; a file that cannot be read at all is left out and told; everything else goes in.
 */
export async function ingest(folder: string, effects: Effects): Promise<IngestResult> {
  const { files, progress } = effects;
  const opened = await openProject(folder, files);
  const problems: Problem[] = [];
  const delivered: DeliveredFile[] = [];
  const ledger = await readLedger(opened, effects);
  for (const stream of opened.project.streams) {
    const found = await filesOf(opened, stream, files);
    problems.push(...found.problems);
    for (const file of found.paths) {
      progress(`reading ${file}`);
      const read = await readDelivery(opened, stream, file, effects).catch((error: unknown) =>
        problems.push(...problemsOf(error)),
      );
      if (typeof read !== 'object') continue;
      const { added, repeated } = await opened.store.add(read.rows);
      await writeRejects(opened, file, read, effects);
      problems.push(...read.rejected.map((r) => r.problem));
      delivered.push({ file, rows: read.rows.length, rejected: read.rejected.length, added, repeated });
      ledger.set(`${file} ${read.sha256}`, entryOf(stream, file, read));
    }
  }
  await writeLedger(opened, ledger, effects);
  return { files: delivered, problems };
}

/** A clock may be wrong by so much before an epoch is called a thing of the future. */
const clockMarginMs = dayMs;

interface Delivery extends PositionsFile {
  readonly sha256: string;
}

async function readDelivery(
  { folder, project, ellipsoid }: ProjectFolder,
  stream: Stream,
  file: string,
  { files, nowMs }: Effects,
): Promise<Delivery> {
  const bytes = (await files.read(join(folder, file))) ?? new Uint8Array(0);
  const read = readPositions(bytes, file, {
    stream: stream.name,
    timeScale: stream.timeScale,
    columns: stream.columns,
    latestMs: nowMs() + clockMarginMs,
    stations: new Map(
      project.stations.map((station) => [station.id, approximatePosition(ellipsoid, station)]),
    ),
  });
  return { ...read, sha256: sha256(bytes) };
}

function problemsOf(error: unknown): readonly Problem[] {
  if (error instanceof ProblemError) return error.problems;
  throw error;
}

/** `store/rejects/positions__march.csv.txt`: removed again when the file is delivered without faults. */
async function writeRejects(
  { folder }: ProjectFolder,
  file: string,
  { rejected }: Delivery,
  { files }: Effects,
): Promise<void> {
  const path = join(folder, storeFolder, 'rejects', `${file.replaceAll('/', '__')}.txt`);
  if (rejected.length === 0) await files.remove(path);
  else await files.write(path, rejected.map((r) => `${formatProblem(r.problem)}\n`).join('\n'));
}

/** What was delivered: the way back from the store to the files it came from. */
interface LedgerEntry {
  readonly file: string;
  readonly sha256: string;
  readonly stream: string;
  readonly rows: number;
  readonly rejected: number;
  readonly first?: string;
  readonly last?: string;
}

function entryOf(stream: Stream, file: string, { sha256, rows, rejected }: Delivery): LedgerEntry {
  const span: { first?: string; last?: string } = {};
  let first = Infinity;
  let last = -Infinity;
  for (const { timeMs } of rows) {
    first = Math.min(first, timeMs);
    last = Math.max(last, timeMs);
  }
  if (rows.length > 0) Object.assign(span, { first: formatInstant(first), last: formatInstant(last) });
  return { file, sha256, stream: stream.name, rows: rows.length, rejected: rejected.length, ...span };
}

const ledgerPath = ({ folder }: ProjectFolder): string => join(folder, storeFolder, 'deliveries.json');

async function readLedger(opened: ProjectFolder, { files }: Effects): Promise<Map<string, LedgerEntry>> {
  const bytes = await files.read(ledgerPath(opened));
  if (!bytes) return new Map();
  try {
    const entries = JSON.parse(new TextDecoder().decode(bytes)) as LedgerEntry[];
    return new Map(entries.map((entry) => [`${entry.file} ${entry.sha256}`, entry]));
  } catch {
    return fail('STORE_UNREADABLE', 'the list of deliveries cannot be read', {
      at: { file: ledgerPath(opened) },
      hint: 'the file as it was written; or to move it away, and the next ingest begins a new one',
    });
  }
}

async function writeLedger(
  opened: ProjectFolder,
  ledger: ReadonlyMap<string, LedgerEntry>,
  { files }: Effects,
): Promise<void> {
  if (ledger.size === 0) return;
  const entries = [...ledger].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, entry]) => entry);
  await files.write(ledgerPath(opened), `${JSON.stringify(entries, undefined, 1)}\n`);
}
