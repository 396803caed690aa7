// Adds up the JSON reports of all rooms into one line: 'N passed, N failed'.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { top } from './run.mjs';

export function tally() {
  const total = { passed: 0, failed: 0, skipped: 0 };
  for (const group of ['packages', 'apps', '.']) {
    for (const name of group === '.' ? ['tests'] : readdirSync(join(top, group))) {
      let report;
      try {
        report = JSON.parse(readFileSync(join(top, group, name, '.reports/vitest.json'), 'utf8'));
      } catch {
        continue;
      }
      total.passed += report.numPassedTests;
      total.failed +=
        report.numFailedTests + (report.numFailedTestSuites > 0 && report.numFailedTests === 0 ? 1 : 0);
      total.skipped += report.numPendingTests + report.numTodoTests;
    }
  }
  return total;
}
