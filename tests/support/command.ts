import { spawn, type ChildProcessByStdio } from 'node:child_process';
import type { Readable, Writable } from 'node:stream';
import { fileURLToPath } from 'node:url';

/** The built command. */
export const built = fileURLToPath(new URL('../../apps/cli/dist/stillmark.js', import.meta.url));

export interface Ended {
  readonly code: number | null;
  readonly out: string;
  readonly err: string;
}

export interface RunOptions {
  readonly cwd?: string;
  readonly env?: Readonly<Record<string, string>>;
  /** Program and first arguments; the built command on this Node unless said. */
  readonly program?: readonly [string, ...string[]];
  readonly uid?: number;
  readonly gid?: number;
  /** What comes on the standard input; nothing unless said. */
  readonly input?: string;
}

/** Runs the command line as a user would, in a process of its own. */
export function stillmark(args: readonly string[], options: RunOptions = {}): Promise<Ended> {
  const [program, ...first] = options.program ?? [process.execPath, built];
  return new Promise((resolve, reject) => {
    const child = spawn(program, [...first, ...args], {
      cwd: options.cwd,
      env: { PATH: process.env['PATH'], HOME: process.env['HOME'], ...options.env },
      uid: options.uid,
      gid: options.gid,
      stdio: [options.input === undefined ? 'ignore' : 'pipe', 'pipe', 'pipe'],
    }) as ChildProcessByStdio<Writable | null, Readable, Readable>;
    child.stdin?.end(options.input);
    let out = '';
    let err = '';
    child.stdout.setEncoding('utf8').on('data', (text: string) => (out += text));
    child.stderr.setEncoding('utf8').on('data', (text: string) => (err += text));
    child.on('error', reject);
    child.on('close', (code) => resolve({ code, out, err }));
  });
}

/** Runs the command and throws with what it said where it does not end with 0. */
export async function mustRun(args: readonly string[], options: RunOptions = {}): Promise<Ended> {
  const ended = await stillmark(args, options);
  if (ended.code !== 0)
    throw new Error(`stillmark ${args.join(' ')} ended with ${ended.code}:\n${ended.out}\n${ended.err}`);
  return ended;
}
