import { spawnSync } from 'node:child_process';
import { chmod, mkdir, writeFile } from 'node:fs/promises';
import { delimiter, join } from 'node:path';
import { built } from './command.ts';

export interface ShellEnd {
  readonly status: number | null;
  readonly stdout: string;
  readonly stderr: string;
}

export type Shell = (
  script: string,
  args?: readonly string[],
  env?: Readonly<Record<string, string>>,
  cwd?: string,
) => ShellEnd;

/** A bash in which `stillmark` is the built command and `node` this one; it works in the folder unless said. */
export async function shellWith(folder: string): Promise<Shell> {
  const bin = join(folder, 'bin');
  await mkdir(bin);
  await writeFile(join(bin, 'stillmark'), `#!/bin/sh\nexec '${process.execPath}' '${built}' "$@"\n`);
  await writeFile(join(bin, 'node'), `#!/bin/sh\nexec '${process.execPath}' "$@"\n`);
  for (const name of ['stillmark', 'node']) await chmod(join(bin, name), 0o755);
  const path = [bin, process.env['PATH']].join(delimiter);
  return (script, args = [], env = {}, cwd = folder) => {
    const { status, stdout, stderr } = spawnSync('/bin/bash', ['-c', script, 'bash', ...args], {
      cwd,
      encoding: 'utf8',
      // A socket there is taken for a remote shell, and reads files of the user's first.
      stdio: ['ignore', 'pipe', 'pipe'],
      env: { PATH: path, ...env },
    });
    return { status, stdout, stderr };
  };
}
