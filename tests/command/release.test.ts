import { appendFile, cp, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, inject, test } from 'vitest';
import { parse } from 'yaml';
import { mustRun, stillmark } from '../support/command.ts';

let folder: string;
let project: string;
const site = inject('demoSite');
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-release-'));
  project = join(folder, 'project');
  await cp(inject('demoProject'), project, { recursive: true });
});
afterAll(() => rm(folder, { recursive: true, force: true }));

const textsOf = async (place: string): Promise<{ name: string; text: string }[]> =>
  Promise.all(
    (await readdir(place, { recursive: true, encoding: 'utf8' }))
      .filter((name) => /\.(html|json|txt)$/.test(name))
      .map(async (name) => ({ name, text: await readFile(join(place, name), 'utf8') })),
  );
const approve = (...more: string[]): Promise<{ code: number | null; out: string; err: string }> =>
  stillmark(['release', project, '--site', site, '--by', 'owner', '--at', '2026-11-24T08:00:00Z', ...more]);

test('until somebody approves, the released site says that nothing is released, and carries no figure', async () => {
  const out = join(folder, 'none');
  await mustRun(['snapshot', project, '--out', join(folder, 'technical'), '--released', out]);
  const html = await readFile(join(out, 'index.html'), 'utf8');
  expect(html).toContain('Nothing has been approved for release yet.');
  expect(html).not.toMatch(/\d mm|\u202fmm/);
  expect(html).toContain('<meta name="robots" content="noindex">');
  expect(await readFile(join(out, 'robots.txt'), 'utf8')).toBe('User-agent: *\nDisallow: /\n');
  expect((await mustRun(['verify', out])).code).toBe(0);
});

test('what is approved is frozen with who and when; later data change nothing but what is said of them', async () => {
  const out = join(folder, 'released');
  expect(await approve('--comment', 'Looked at in the weekly meeting.', '--out', out)).toMatchObject({
    code: 0,
  });
  const [entry] = (
    parse(await readFile(join(project, 'releases.yaml'), 'utf8')) as { releases: Record<string, string>[] }
  ).releases;
  expect(entry).toMatchObject({
    by: 'owner',
    at: '2026-11-24T08:00:00Z',
    comment: 'Looked at in the weekly meeting.',
  });
  const html = await readFile(join(out, 'index.html'), 'utf8');
  const asOf = /As of<\/dt>\s*<dd>\s*<time[^>]*>([^<]*)</.exec(
    await readFile(join(site, 'index.html'), 'utf8'),
  )![1];
  expect(html).toContain(
    `Approved for release by owner on 24 November 2026, 09:00 UTC+01:00, as of ${asOf}: Looked at in the weekly meeting.`,
  );
  expect(html).not.toContain('are not approved for release');
  const headline = /<p class="answer">([^<]*)</.exec(await readFile(join(site, 'index.html'), 'utf8'))![1];
  expect(html).toContain(headline);

  // A snapshot of an earlier time stands for one of other data: what was approved stays as it was.
  await rm(join(folder, 'technical'), { recursive: true });
  await mustRun([
    'snapshot',
    project,
    '--out',
    join(folder, 'technical'),
    '--as-of',
    '2026-11-10',
    '--released',
    out,
  ]);
  expect(await readFile(join(out, 'index.html'), 'utf8')).toContain(headline);
});

test('what is hidden is nowhere in the released site: stations, coordinates, levels', async () => {
  const file = join(project, 'project.yaml');
  const before = await readFile(file, 'utf8');
  await writeFile(
    file,
    `${before}\nrelease: { hide: { stations: [S2, B2], coordinates: true, levels: true } }\n`,
  );
  const out = join(folder, 'hidden');
  expect(await approve('--out', out)).toMatchObject({ code: 0 });
  const texts = await textsOf(out);
  expect(texts.map(({ name }) => name).sort()).toEqual([
    'index.html',
    'manifest.json',
    'robots.txt',
    'statements.json',
  ]);
  for (const { name, text } of texts) {
    expect(text, name).not.toMatch(/\b(S2|B2)\b/);
    expect(text, name).not.toMatch(/latitude|longitude|east_m"|m north|levels/i);
  }
  expect(texts.find(({ name }) => name === 'index.html')!.text).toContain('S1');
  await writeFile(file, before);
});

test('what a person wrote must not name what is hidden, and something must be left', async () => {
  const file = join(project, 'project.yaml');
  const before = await readFile(file, 'utf8');
  const releases = await readFile(join(project, 'releases.yaml'), 'utf8');
  await writeFile(file, `${before}\nrelease: { hide: { stations: [S2] } }\n`);
  expect((await approve('--comment', 'We look at s2.')).err).toContain(
    'the comment names a station that is not to be released',
  );
  const released = join(folder, 'some');
  expect(await approve('--out', released)).toMatchObject({ code: 0 });
  const html = await readFile(join(released, 'index.html'), 'utf8');
  expect(html).toContain('<p class="answer">Of the stations that are released: ');
  // Not the origin of the project, which is where a hidden station may stand.
  const { stations } = JSON.parse(await readFile(join(released, 'statements.json'), 'utf8')) as { stations: { place: { east_m: number; north_m: number } }[] }; // prettier-ignore
  for (const { place } of stations) expect(Number(place.east_m.toFixed(1))).toBe(place.east_m);
  expect(Math.abs(stations.reduce((sum, { place }) => sum + place.east_m, 0) / stations.length)).toBeLessThan(
    1,
  );
  await writeFile(file, `${before}\nrelease: { hide: { stations: [S1, S2, S3] } }\n`);
  expect((await approve()).err).toContain('nothing that is monitored would be released');
  await writeFile(file, `${before}\nrelease: { hide: { stations: [S9] } }\n`);
  expect((await stillmark(['check', project])).err).toMatch(/project\.yaml:\d+:\d+ error PROJECT_REFERENCE/);
  await writeFile(file, before);
  expect((await readFile(join(project, 'releases.yaml'), 'utf8')).startsWith(releases)).toBe(true);
});

test('a release that was changed after it was approved is not shown; a snapshot of another project is not approved', async () => {
  const releases = join(project, 'releases');
  const newest = (
    parse(await readFile(join(project, 'releases.yaml'), 'utf8')) as { releases: { file: string }[] }
  ).releases.at(-1)!.file;
  await appendFile(join(project, newest), ' ');
  const shown = await stillmark(['snapshot', project, '--out', join(folder, 'technical'), '--released', join(folder, 'released')]); // prettier-ignore
  expect(shown).toMatchObject({ code: 1 });
  expect(shown.err).toContain('what was released is not what was approved');
  expect((await readdir(releases)).length).toBeGreaterThanOrEqual(2);

  const other = await stillmark(['release', project, '--site', inject('larkmoorSite'), '--by', 'owner']);
  expect(other).toMatchObject({ code: 2 });
  expect(other.err).toContain("the snapshot is of 'Larkmoor dam'");
  await writeFile(join(project, 'releases.yaml'), 'stillmark: 1\nreleases:\n  - { by: owner }\n');
  const broken = await stillmark(['release', project, '--site', site, '--by', 'owner']);
  expect(broken.code).toBe(1);
  expect(broken.err).toContain('releases.yaml');
  expect(await readFile(join(project, 'releases.yaml'), 'utf8')).toBe(
    'stillmark: 1\nreleases:\n  - { by: owner }\n',
  );
});
