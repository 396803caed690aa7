import type { RejectedRow } from '@stillmark/formats';
import { fail, type Problem } from '@stillmark/problems';
import picomatch from 'picomatch';
import type { Part } from './delivered-file.ts';

/** Something that files are delivered for: a stream of positions, a sensor, or the receivers whose tracking is told. */
export interface Source {
  readonly what: string;
  readonly files: readonly string[];
  /** Says how files are read: the same file read the same way gives the same rows. */
  readonly manner: string;
  /** The table of the store that takes what it holds. */
  readonly table: 'epochs' | 'readings' | 'tracking';
  /** Examines a part of a file; adds what it holds to the store where `add` is said. */
  readonly read: (file: string, part: Part, add: boolean) => Promise<Delivery>;
  /** Names what files are read together with, and that may come later. */
  readonly beside?: () => Promise<string>;
  /** What was wrong with that. */
  readonly problems?: () => Promise<readonly Problem[]>;
}

/** What a file held. */
export interface Delivery {
  readonly rows: number;
  readonly rejected: readonly RejectedRow[];
  readonly added: number;
  readonly firstMs?: number;
  readonly lastMs?: number;
  /** True where something that is read beside it did not reach over its time: it is read again when that has changed. */
  readonly lacking?: boolean;
}

type DeliveredSpan = Pick<Delivery, 'firstMs' | 'lastMs'>;

export function spanOf(rows: readonly { readonly timeMs: number }[]): DeliveredSpan {
  let firstMs = Infinity;
  let lastMs = -Infinity;
  for (const { timeMs } of rows) {
    firstMs = Math.min(firstMs, timeMs);
    lastMs = Math.max(lastMs, timeMs);
  }
  return rows.length > 0 ? { firstMs, lastMs } : {};
}

/** From the first of both to the last. */
export function joined(a: DeliveredSpan, b: DeliveredSpan): DeliveredSpan {
  if (a.firstMs === undefined || a.lastMs === undefined) return b;
  if (b.firstMs === undefined || b.lastMs === undefined) return a;
  return { firstMs: Math.min(a.firstMs, b.firstMs), lastMs: Math.max(a.lastMs, b.lastMs) };
}

/** What the parts of a file held together. */
export function allOf(parts: readonly Delivery[]): Delivery {
  return parts.reduce((sum, next) => ({
    rows: sum.rows + next.rows,
    rejected: [...sum.rejected, ...next.rejected],
    added: sum.added + next.added,
    ...joined(sum, next),
    ...(sum.lacking === true || next.lacking === true ? { lacking: true } : {}),
  }));
}

/**
 * Whose log a file is, by patterns of the files of each station.
 *
 * @throws INPUT_STATION where none fits, or several
 */
export function ownerOf(file: string, sites: Readonly<Record<string, string>>, what: string): string {
  const owners = Object.entries(sites).flatMap(([id, pattern]) => (picomatch(pattern)(file) ? [id] : []));
  if (owners.length === 1) return owners[0]!;
  return fail(
    'INPUT_STATION',
    owners.length === 0
      ? `no station of ${what} has a log of this name`
      : `the log is of ${owners.join(' and ')} by its name`,
    { at: { file }, hint: `one pattern of sites of ${what} that fits` },
  );
}
