// The main job on the demo project, from nothing to a site.
import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { run, top } from './run.mjs';

const folder = join(top, 'demo');
const project = join(folder, 'harrowfold-slope');
const site = join(folder, 'site');
const stillmark = (...args) => {
  console.log(
    `\n$ stillmark ${args
      .map((a) => a.replace(top, ''))
      .map((a) => (a.includes(' ') ? `"${a}"` : a))
      .join(' ')}`,
  );
  run('node', [join(top, 'apps/cli/dist/stillmark.js'), ...args]);
};

run('turbo', ['run', 'build', '--filter=stillmark', '--output-logs=errors-only', '--log-order=grouped']);
rmSync(folder, { recursive: true, force: true });
run('node', [join(top, 'data/harrowfold-slope/write.ts'), project]);

stillmark('check', project);
stillmark('ingest', project);
for (const station of ['B2', 'S1', 'S2']) {
  stillmark(
    'commit',
    project,
    station,
    '--from',
    '2026-09-14',
    '--to',
    '2026-10-12',
    '--by',
    'survey office of the project',
    '--at',
    '2026-10-13T08:00:00Z',
  );
}
stillmark('snapshot', project, '--out', site);
stillmark('verify', site);

console.log(`
The site is written. Open this file in a browser:

  ${join(site, 'index.html')}

or put the folder behind any web server, for example: npx http-server ${site}

The demo ends in November 2026. After that its pages say that they are out of date, as a real site would whose feed had died.`);
