// Installs the locked dependencies where they are not there yet. Plain JavaScript for Node 20: it runs before anything is installed.
import { createHash } from 'node:crypto';
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const top = fileURLToPath(new URL('..', import.meta.url));
const stamp = `${top}node_modules/.stillmark-installed`;
const wanted = createHash('sha256')
  .update(readFileSync(`${top}package-lock.json`))
  .digest('hex');

if (existsSync(stamp) && readFileSync(stamp, 'utf8') === wanted) process.exit(0);

console.error('Installing the locked dependencies (npm ci) …');
const { status } = spawnSync('npm', ['ci', '--no-audit', '--no-fund', '--loglevel=error'], {
  cwd: top,
  stdio: ['ignore', 2, 2],
  shell: process.platform === 'win32',
});
if (status !== 0) {
  console.error(
    'npm ci failed: see its messages above. Node 20 or newer, npm and a way to the npm registry are needed.',
  );
  process.exit(1);
}
writeFileSync(stamp, wanted);
