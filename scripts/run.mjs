// Runs commands of this repository with the Node and the tools that it has installed, and with telemetry off.
import { spawnSync } from 'node:child_process';
import { delimiter } from 'node:path';
import { fileURLToPath } from 'node:url';

export const top = fileURLToPath(new URL('..', import.meta.url));

const env = () => ({
  ...process.env,
  PATH: `${top}node_modules/.bin${delimiter}${process.env.PATH ?? ''}`,
  ASTRO_TELEMETRY_DISABLED: '1',
  TURBO_TELEMETRY_DISABLED: '1',
  DO_NOT_TRACK: '1',
});

/** Runs a command; ends this process with its exit code where it fails. */
export function run(command, args, options = {}) {
  const status = attempt(command, args, options);
  if (status !== 0) process.exit(status);
}

/** Runs a command and gives its exit code. */
export function attempt(command, args, options = {}) {
  const { status, error } = spawnSync(command, args, {
    cwd: top,
    env: env(),
    stdio: 'inherit',
    shell: process.platform === 'win32',
    ...options,
  });
  if (error) console.error(`${command}: ${error.message}`);
  return status ?? 1;
}
