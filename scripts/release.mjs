// What must hold before a version is tagged: node scripts/release.mjs X.Y.Z [FOLDER]. Changes nothing; ends with 1 where something is missing.
// "Change notes and release" in DEVELOPERS.md tells the steps around it.
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { top } from './run.mjs';

const [version, folder = top] = process.argv.slice(2);
if (!/^\d+\.\d+\.\d+(?:-[\w.]+)?$/.test(version ?? '')) {
  console.error('usage: node scripts/release.mjs X.Y.Z [FOLDER]');
  process.exit(2);
}
const read = (path) => readFileSync(join(folder, path), 'utf8');
const output = (program, ...args) =>
  spawnSync(program, args, { cwd: folder, encoding: 'utf8', stdio: ['ignore', 'pipe', 'ignore'] });

const checks = {
  'versions of the command, of the repository and in the lock file': () => {
    const lock = JSON.parse(read('package-lock.json'));
    const found = {
      'package.json': JSON.parse(read('package.json')).version,
      'apps/cli/package.json': JSON.parse(read('apps/cli/package.json')).version,
      'package-lock.json': lock.version,
      'package-lock.json (apps/cli)': lock.packages['apps/cli'].version,
    };
    return Object.entries(found).flatMap(([where, is]) => (is === version ? [] : [`${where} says ${is}`]));
  },
  'CHANGELOG: the version with its day on top, with entries, and nothing unreleased': () => {
    const [, newest = '', ...earlier] = read('CHANGELOG.md').split(/^## /m);
    const [heading, ...entries] = newest.split('\n');
    return [
      ...(/^(\S+) \(\d{4}-\d{2}-\d{2}\)$/.exec(heading)?.[1] === version
        ? []
        : [`its first heading is '${heading}', and not '${version} (YYYY-MM-DD)'`]),
      ...(entries.some((line) => line.startsWith('- ')) ? [] : ['it has no entries']),
      ...(earlier.some((text) => /^.*unreleased/i.test(text))
        ? ['an earlier version is called unreleased']
        : []),
    ];
  },
  'names of the package in the manuals': () =>
    ['README.md', 'apps/cli/README.md', ...markdownIn('apps/cli/docs')].flatMap((path) =>
      [...read(path).matchAll(/stillmark-(\d+\.\d+\.\d+[\w.-]*)\.tgz/g)].flatMap(([name, its]) =>
        its === version ? [] : [`${path} names ${name}`],
      ),
    ),
  'the licence of the package is that of the repository': () =>
    read('apps/cli/LICENSE') === read('LICENSE') ? [] : ['apps/cli/LICENSE differs from LICENSE'],
  'the built command': () => {
    const { status, stdout } = output(process.execPath, 'apps/cli/dist/stillmark.js', '--version');
    return status === 0 && stdout.trim() === version
      ? []
      : [`it says '${stdout?.trim() ?? ''}': build it (npm run demo)`];
  },
  'what goes into the package': () => {
    const { status, stdout } = output('npm', 'pack', '--workspace', 'stillmark', '--dry-run', '--json');
    if (status !== 0) return ['npm pack fails'];
    // A list of packages, or packages by name: npm has both.
    const [packed] = Object.values(JSON.parse(stdout));
    const paths = packed.files.map(({ path }) => path);
    const needed = [
      'LICENSE',
      'README.md',
      'dist/stillmark.js',
      'dist/station-worker.js',
      'dist/licences.md',
      'dist/renderer/server/entry.mjs',
      'dist/renderer/server/licences.md',
      ...markdownIn('apps/cli/docs').map((path) => path.replace('apps/cli/', '')),
    ];
    return [
      ...needed.filter((path) => !paths.includes(path)).map((path) => `${path} is missing`),
      ...paths
        .filter((path) => /\.tsx?$|^src\/|^node_modules\//.test(path))
        .map((path) => `${path} is in it`),
    ];
  },
  'everything is committed, and there is no such tag yet': () => {
    const { status, stdout } = output('git', 'status', '--porcelain');
    const tag = output('git', 'tag', '--list', `v${version}`);
    return [
      ...(status === 0 && stdout === '' ? [] : ['there are changes that are not committed']),
      ...(tag.stdout === '' ? [] : [`there is a tag v${version}`]),
    ];
  },
};

function markdownIn(path) {
  return readdirSync(join(folder, path))
    .filter((name) => name.endsWith('.md'))
    .map((name) => `${path}/${name}`);
}

let faults = 0;
for (const [what, check] of Object.entries(checks)) {
  const found = check();
  faults += found.length;
  console.log(`${found.length === 0 ? 'fine   ' : 'missing'}  ${what}`);
  for (const fault of found) console.log(`           ${fault}`);
}
process.exit(faults === 0 ? 0 : 1);
