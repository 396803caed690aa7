// The main job on the demo project, from nothing to a site.
// Runs on the Node of the machine where the installation has just brought the project's own: sources are run by that one.
import { readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { run, top } from './run.mjs';

const folder = join(top, 'demo');
const project = join(folder, 'larkmoor-dam');
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
console.log('\nmaking fifteen months of hourly positions of an invented dam …');
run('node', [join(top, 'data/larkmoor-dam/write.ts'), project]);

stillmark('check', project);
stillmark('ingest', project);
// What the people of the demo commit: positions of every station that was there, from the first four weeks, and what warmth and
// water do to them, from the time up to the second filling.
const { by, positions, responses } = JSON.parse(
  readFileSync(join(top, 'data/larkmoor-dam/committed.json'), 'utf8'),
);
for (const [command, { stations, from, to, at }] of [
  ['commit', positions],
  ['commit-response', responses],
])
  stillmark(command, project, ...stations, '--from', from, '--to', to, '--at', at, '--by', by);
stillmark('snapshot', project, '--out', site);
stillmark('verify', site);

console.log(`
The site is written. Open this file in a browser:

  ${join(site, 'index.html')}

or put the folder behind any web server, for example: npx http-server ${site}
(on a web server, timelines can be zoomed; a page opened from a folder may not read other files).

The demo ends in November 2026. After that its pages say that they are out of date, as a real site would whose feed had died.`);
