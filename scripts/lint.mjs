// Form, types in use, and the direction of imports.
import { run } from './run.mjs';

run('prettier', ['--check', '--log-level=warn', '.']);
run('oxlint', ['--type-aware', '--deny-warnings', '--quiet']);
run('turbo', ['boundaries', '--no-color']);
