import { spawnSync } from 'node:child_process';
import { cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, expect, test } from 'vitest';

// The check before a release, on a copy of what it looks at that is ready to be released, and with one thing amiss at a time.
const top = fileURLToPath(new URL('../../', import.meta.url));
const { version } = JSON.parse(await readFile(join(top, 'package.json'), 'utf8')) as { version: string };

let folder: string;
const git = (...args: string[]): unknown =>
  expect(
    spawnSync('git', ['-c', 'user.name=a', '-c', 'user.email=a@example.org', ...args], { cwd: folder })
      .status,
  ).toBe(0);
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-release-'));
  for (const path of [
    'package.json',
    'package-lock.json',
    'CHANGELOG.md',
    'LICENSE',
    'README.md',
    '.gitignore',
    'apps/cli',
  ])
    await cp(join(top, path), join(folder, path), {
      recursive: true,
      filter: (from) => !/\/(?:node_modules|\.turbo|\.reports)$/.test(from),
    });
  const change = join(folder, 'CHANGELOG.md');
  const notes = await readFile(change, 'utf8');
  await writeFile(change, notes.replace(/^## .*$/m, `## ${version} (2026-12-01)`));
  git('init', '--quiet');
  git('add', '--all');
  git('commit', '--quiet', '--message', 'Release');
});
afterAll(() => rm(folder, { recursive: true, force: true }));

/** What the check finds missing. */
function faults(): string[] {
  const { status, stdout } = spawnSync(
    process.execPath,
    [join(top, 'scripts/release.mjs'), version, folder],
    { encoding: 'utf8' },
  );
  const found = stdout.split('\n').filter((line) => line.startsWith('   '));
  expect(status).toBe(found.length === 0 ? 0 : 1);
  return found.map((line) => line.trim());
}

test('what is ready is let through', () => {
  expect(faults()).toEqual([]);
});

const uncommitted = 'there are changes that are not committed';
test.each<[string, string, (text: string) => string, string[]]>([
  [
    'a version that was forgotten',
    'apps/cli/package.json',
    (text) => text.replace(`"version": "${version}"`, '"version": "99.0.0"'),
    ['apps/cli/package.json says 99.0.0', uncommitted],
  ],
  [
    'notes without a day',
    'CHANGELOG.md',
    (text) => text.replace('(2026-12-01)', '(unreleased)'),
    [`its first heading is '${version} (unreleased)', and not '${version} (YYYY-MM-DD)'`, uncommitted],
  ],
  [
    'notes that say nothing',
    'CHANGELOG.md',
    (text) => text.replace(/^(## .*\n)/m, `$1\n## 0.0.9 (2026-01-01)\n`),
    ['it has no entries', uncommitted],
  ],
  [
    'a manual that names the package of before',
    'apps/cli/docs/operations.md',
    (text) => text.replace(`stillmark-${version}.tgz`, 'stillmark-0.0.9.tgz'),
    ['apps/cli/docs/operations.md names stillmark-0.0.9.tgz', uncommitted],
  ],
  [
    'another licence',
    'apps/cli/LICENSE',
    (text) => `${text}\n`,
    ['apps/cli/LICENSE differs from LICENSE', uncommitted],
  ],
  [
    'a package without manuals',
    'apps/cli/package.json',
    (text) => text.replace('"docs"', '"none"'),
    ['docs/store.md is missing', uncommitted],
  ],
])('%s is told', async (_, path, change, expected) => {
  const file = join(folder, path);
  const before = await readFile(file, 'utf8');
  const changed = change(before);
  expect(changed).not.toBe(before);
  await writeFile(file, changed);
  expect(faults()).toEqual(expect.arrayContaining(expected));
  await writeFile(file, before);
});

test('sources in the package, licences that are not in it, another built version and a tag that is there are told', async () => {
  const dist = join(folder, 'apps/cli/dist');
  await writeFile(join(dist, 'left.ts'), '');
  await rm(join(dist, 'licences.md'));
  await writeFile(join(dist, 'stillmark.js'), "console.log('0.0.9');\n");
  git('tag', `v${version}`);
  expect(faults()).toEqual([
    "it says '0.0.9': build it (npm run demo)",
    'dist/licences.md is missing',
    'dist/left.ts is in it',
    `there is a tag v${version}`,
  ]);
});
