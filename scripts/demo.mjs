// The main job on the demo project, from nothing to a site.
import { rmSync } from 'node:fs';
import { join } from 'node:path';
import { committed, writeLarkmoor } from '../data/larkmoor-dam/write.ts';
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
await writeLarkmoor(project);

stillmark('check', project);
stillmark('ingest', project);
stillmark('commit', project, ...committed.stations, ...committed.options);
stillmark('snapshot', project, '--out', site);
stillmark('verify', site);

console.log(`
The site is written. Open this file in a browser:

  ${join(site, 'index.html')}

or put the folder behind any web server, for example: npx http-server ${site}
(on a web server, timelines can be zoomed; a page opened from a folder may not read other files).

The demo ends in November 2026. After that its pages say that they are out of date, as a real site would whose feed had died.`);
