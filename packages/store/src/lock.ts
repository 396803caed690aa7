import { open, readFile, rm } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import { fail, ProblemError } from '@stillmark/problems';

/** So long a command that comes second may wait; common practice, no source. */
export const lockWaitMs = 60_000;

/** The lock of a store. */
export function storeLock(folder: string): string {
  return join(folder, 'writing.lock');
}

/**
 * Runs `work` while no other command holds the lock at a path.
 *
 * A lock of a process that no longer lives on this machine is taken over.
 *
 * @param what is written, for the problem
 * @param waitMs so long another command may take to let go of it
 * @throws USE_LOCKED where another command holds the lock
 */
export async function withLock<T>(
  path: string,
  what: string,
  work: () => Promise<T>,
  waitMs = 0,
): Promise<T> {
  for (const end = performance.now() + waitMs; ;) {
    try {
      await acquire(path, what, true);
      break;
    } catch (error) {
      const taken = error instanceof ProblemError && error.problems.some(({ code }) => code === 'USE_LOCKED');
      if (!taken || performance.now() >= end) throw error;
      await setTimeout(250);
    }
  }
  held.add(path);
  try {
    return await work();
  } finally {
    held.delete(path);
    await rm(path, { force: true });
  }
}

/** Locks that this process holds. */
const held = new Set<string>();

async function acquire(path: string, what: string, mayTakeOver: boolean): Promise<void> {
  try {
    const handle = await open(path, 'wx');
    await handle.writeFile(`${process.pid} ${hostname()}\n`);
    await handle.close();
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'EEXIST') throw error;
    const { pid, host } = await holderOf(path);
    // One without a name is of a command that was stopped as it took the lock, one with our own number of a process that had it before us.
    const own = Number(pid) === process.pid && !held.has(path);
    if (mayTakeOver && (pid === '' || (host === hostname() && (own || !isAlive(Number(pid)))))) {
      await rm(path, { force: true });
      return acquire(path, what, false);
    }
    fail('USE_LOCKED', `another command (process ${pid} on ${host}) is writing to this ${what}`, {
      at: { file: path },
      hint: 'to wait until it ends; or, if it was stopped on another machine, to delete this file',
    });
  }
}

/** Who holds a lock; without a name where none is written in the time that it takes to write one, or the lock is gone. */
async function holderOf(path: string): Promise<{ pid: string; host: string }> {
  for (let attempt = 0; ; attempt++) {
    const text = await readFile(path, 'utf8').catch(() => undefined);
    const [pid = '', host = ''] = (text ?? '').trim().split(' ');
    if (text === undefined || text.endsWith('\n') || attempt === 10) return { pid, host };
    await setTimeout(100);
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}
