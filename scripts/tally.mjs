// The JSON reports of all rooms, and their sum in one line: 'N passed, N failed'.
import { readdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { top } from './run.mjs';

function reportFolders() {
  const rooms = ['packages', 'apps'].flatMap((group) =>
    readdirSync(join(top, group)).map((name) => join(group, name)),
  );
  return [...rooms, 'tests'].map((room) => join(top, room, '.reports'));
}

/** Takes earlier reports away, so that none is counted that this run did not make or restore. */
export function clearReports() {
  for (const folder of reportFolders()) rmSync(folder, { recursive: true, force: true });
}

export function tally() {
  const total = { passed: 0, failed: 0, skipped: 0 };
  for (const folder of reportFolders()) {
    let report;
    try {
      report = JSON.parse(readFileSync(join(folder, 'vitest.json'), 'utf8'));
    } catch {
      continue;
    }
    total.passed += report.numPassedTests;
    total.failed +=
      report.numFailedTests + (report.numFailedTestSuites > 0 && report.numFailedTests === 0 ? 1 : 0);
    total.skipped += report.numPendingTests + report.numTodoTests;
  }
  return total;
}
