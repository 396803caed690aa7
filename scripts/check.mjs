// Everything that must hold, in the order in which it fails fastest. With CI set, nothing is taken from a cache.
import { join } from 'node:path';
import { ensureChromium } from './chromium.mjs';
import { attempt, run, top } from './run.mjs';
import { clearReports, tally } from './tally.mjs';

const fresh = process.env.CI ? ['--force'] : [];
process.env.CHROMIUM_PATH = ensureChromium();

run('node', [join(top, 'scripts/lint.mjs')]);
clearReports();

// Two programs in place of two for each room: everything with Node's types, and the pure rooms without them, where a name
// of Node or of the browser is an error.
run('tsc', ['-p', 'tsconfig.json']);
run('tsc', ['-p', 'tsconfig.pure.json']);
run('turbo', ['run', 'typecheck', '--output-logs=errors-only', '--log-order=grouped', ...fresh]);
const tested = attempt('turbo', [
  'run',
  'test',
  '--continue',
  '--output-logs=errors-only',
  '--log-order=grouped',
  '--concurrency=2',
  ...fresh,
]);

const { passed, failed, skipped } = tally();
console.log(`${passed} passed, ${failed} failed${skipped > 0 ? `, ${skipped} skipped` : ''}`);
process.exit(tested !== 0 || failed > 0 || passed === 0 ? 1 : 0);
