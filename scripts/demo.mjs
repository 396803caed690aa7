// The main job on the demo projects, from nothing to a site of each.
// Runs on the Node of the machine where the installation has just brought the project's own: sources are run by that one.
import { readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import { run, top } from './run.mjs';

const folder = join(top, 'demo');
const demos = [
  {
    name: 'larkmoor-dam',
    site: join(folder, 'site'),
    what: 'fifteen months of hourly positions of an invented dam',
  },
  {
    name: 'plovermouth-bridge',
    site: join(folder, 'bridge-site'),
    what: 'ten weeks of positions of an invented bridge, one every ten minutes',
  },
];
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
for (const { name, site, what } of demos) {
  const project = join(folder, name);
  console.log(`\nmaking ${what} …`);
  run('node', [join(top, 'data', name, 'write.ts'), project]);

  stillmark('check', project);
  stillmark('ingest', project);
  // What the people of the demo commit: positions of every station that was there, from the first weeks, and what warmth and water do
  // to them, from a time in which nothing else moved them.
  const { by, positions, responses } = JSON.parse(
    readFileSync(join(top, 'data', name, 'committed.json'), 'utf8'),
  );
  for (const [command, { stations, from, to, at }] of [
    ['commit', positions],
    ['commit-response', responses],
  ])
    stillmark(command, project, ...stations, '--from', from, '--to', to, '--at', at, '--by', by);
  stillmark('snapshot', project, '--out', site);
  stillmark('verify', site);
}

const [dam, bridge] = demos.map(({ site }) => site);
console.log(`
The sites are written. Open these files in a browser, that of the dam first:

  ${join(dam, 'index.html')}
  ${join(bridge, 'index.html')}

or put a folder behind any web server, for example: npx http-server ${dam}
(opened from a folder, a zoomed timeline shows the least and the greatest epochs of some hours; on a web server, single ones).

The demos end in November 2026. After that their pages say that they are out of date, as a real site would whose feed had died.`);
