import { spawn } from 'node:child_process';
import {
  appendFile,
  chmod,
  cp,
  mkdtemp,
  readdir,
  readFile,
  rm,
  stat,
  truncate,
  writeFile,
} from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';
import type { TransitionsNotice } from '@stillmark/records';
import { Ajv2020 } from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';
import { afterEach, beforeEach, describe, expect, inject, test } from 'vitest';
import { built, mustRun, stillmark, type Ended } from '../support/command.ts';

let folder: string;
let project: string;
let site: string;
let told: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark notify '));
  [project, site, told] = [join(folder, 'project'), join(folder, 'site'), join(folder, 'told.json')];
  await cp(inject('demoProject'), project, { recursive: true });
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const asOf = (day: string): string[] => ['--as-of', day];
const snapshot = (command: string | undefined, ...more: string[]): Promise<Ended> =>
  stillmark([
    'snapshot',
    project,
    '--out',
    site,
    ...(command === undefined ? [] : ['--notify', command]),
    ...more,
  ]);
/** Writes what it reads, and one line each time that it runs. */
const keep = (): string => `cat > '${told}'; echo ran >> '${told}.log'`;
const notice = async (): Promise<TransitionsNotice> =>
  JSON.parse(await readFile(told, 'utf8')) as TransitionsNotice;
const runs = async (): Promise<number> =>
  (await readFile(`${told}.log`, 'utf8').catch(() => '')).split('\n').length - 1;
const waiting = async (): Promise<string[]> =>
  (await readdir(folder)).filter((name) => name.endsWith('untold.json'));

const triggers = `
triggers:
  - name: slide
    quantity: horizontal
    levels:
      - { name: attention, at: 3 mm, responsible: measurement }
`;

describe('a command that is told of changes', () => {
  test('reads every state of the first snapshot, then only what differs, and nothing where nothing does', async () => {
    await appendFile(join(project, 'project.yaml'), triggers);
    expect(await snapshot(keep(), ...asOf('2026-10-20'))).toMatchObject({ code: 0, err: '' });
    const first = await notice();
    expect(first).toMatchObject({ before: null, asOf: '2026-10-20T00:00:00Z', site, highestLevel: 0 });
    expect(first.transitions.map(({ kind, of, from }) => [kind, of, from])).toEqual([
      ...['S1', 'S2', 'S3'].map((of) => ['trigger', of, null]),
      ...['S1', 'S2', 'S3'].map((of) => ['station', of, null]),
      ...['B1', 'B2'].map((of) => ['base', of, null]),
    ]);

    await snapshot(keep(), ...asOf('2026-10-20'));
    await snapshot(keep(), ...asOf('2026-10-20T12:00:00Z'));
    expect(await runs()).toBe(1);

    await snapshot(keep());
    expect(await runs()).toBe(2);
    const later = await notice();
    expect(later).toMatchObject({
      format: 'stillmark-transitions',
      version: 1,
      before: { asOf: '2026-10-20T12:00:00Z' },
      asOf: '2026-11-22T23:00:00Z',
      highestLevel: 1,
    });
    // S2 creeps since 18 October, S3 is there since November, S1 stands still: as it is planted.
    expect(later.transitions).toMatchObject([
      {
        kind: 'trigger',
        trigger: 'slide',
        of: 'S2',
        unit: 'mm',
        from: { condition: 'measured', level: 0 },
        to: { condition: 'measured', level: 1, levelName: 'attention', responsible: 'measurement' },
        text: 'S2, slide: level 1 (attention) (before: no level reached)',
      },
      { kind: 'station', of: 'S2', from: 'still', to: 'moved' },
      { kind: 'station', of: 'S3', from: 'no-data', to: 'establishing' },
    ]);
    expect(await waiting()).toEqual([]);

    // Against a general validator of JSON Schema (ajv).
    const ajv = new Ajv2020({ strict: false });
    (addFormats as unknown as (a: Ajv2020) => void)(ajv);
    const schema = JSON.parse((await mustRun(['schema', 'transitions'])).out) as object;
    for (const read of [first, later]) expect(ajv.validate(schema, read), ajv.errorsText()).toBe(true);
    expect(ajv.validate(schema, { ...later, transitions: [] })).toBe(false);
  });

  test('that fails is told loudly and harms nothing: the site stands, and the next snapshot tells the same again', async () => {
    await snapshot(undefined, ...asOf('2026-11-01'));
    const failed = await snapshot(`${keep()}; echo the mail server does not answer >&2; exit 3`);
    expect(failed.code).toBe(1);
    expect(failed.err).toMatch(
      /the mail server does not answer\n[^]*error NOTIFY_FAILED[^]*ended with 3; the site is written/,
    );
    expect(failed.out).toContain('As of 2026-11-22T23:00:00Z');
    expect(await stillmark(['verify', site])).toMatchObject({ code: 0 });
    const first = await notice();
    expect(await waiting()).toHaveLength(1);

    const json = await snapshot('exit 4', '--json');
    expect(JSON.parse(json.out)).toMatchObject({
      ok: false,
      exit: 1,
      asOf: '2026-11-22T23:00:00Z',
      told: { end: { code: 4 } },
      problems: [{ code: 'NOTIFY_FAILED' }],
    });
    expect((await snapshot(keep())).code).toBe(0);
    expect(await notice()).toEqual(first);
    expect(await runs()).toBe(2);
    expect(await waiting()).toEqual([]);
    await snapshot(keep());
    expect(await runs()).toBe(2);
  });

  test('that failed is told of what is as before again too: somebody may have heard the one, and must hear the other', async () => {
    await snapshot(undefined, ...asOf('2026-10-20'));
    await snapshot(`${keep()}; exit 1`);
    expect((await notice()).transitions.map(({ of, to }) => [of, to])).toContainEqual(['S2', 'moved']);
    expect((await snapshot(`${keep()}; exit 1`, ...asOf('2026-10-20'))).code).toBe(1);
    expect((await notice()).transitions).toContainEqual({
      kind: 'station',
      of: 'S2',
      from: 'still',
      to: 'still',
      text: 'S2: no movement distinguishable (as before; another state may have been told in between)',
    });
    expect((await snapshot(keep(), ...asOf('2026-10-20'))).code).toBe(0);
    expect((await notice()).transitions.map(({ of }) => of)).toEqual(['S2', 'S3']);
    await snapshot(keep(), ...asOf('2026-10-20'));
    expect(await runs()).toBe(3);
  });

  test('that fails at the first snapshot is told everything again, as new', async () => {
    expect((await snapshot('exit 1')).code).toBe(1);
    await snapshot(keep());
    expect((await notice()).before).toBeNull();
    expect((await notice()).transitions).toHaveLength(5);
  });

  test('that takes too long is ended with all that it started, and that leaves something running holds up nothing', async () => {
    const late = join(folder, 'late');
    const began = performance.now();
    const { code, err } = await snapshot(`(sleep 4; touch '${late}') & wait`, '--notify-limit', '1');
    expect({ code, told: /NOTIFY_FAILED[^]*was ended after 1 s/.test(err) }).toEqual({ code: 1, told: true });
    expect((await snapshot('sleep 30 & exit 0')).code).toBe(0);
    expect(performance.now() - began).toBeLessThan(20_000);
    await setTimeout(Math.max(0, 6000 - (performance.now() - began)));
    await expect(stat(late)).rejects.toThrow(/ENOENT/);
  });

  test('that reads nothing, says very much, is killed or is none, is told of as it ended', async () => {
    expect((await snapshot('true')).code).toBe(0);
    const loud = await snapshot('yes | head -c 3000000; kill -TERM $$', ...asOf('2026-11-01'));
    expect(loud.code).toBe(1);
    expect(loud.err).toContain('was ended by SIGTERM');
    expect(loud.err.length).toBeLessThan(70_000);
    expect((await snapshot('no-such-command-at-all', ...asOf('2026-11-01'))).err).toMatch(
      /NOTIFY_FAILED[^]*ended with 127/,
    );
  });

  test('is told everything where what stood there before cannot be read, and that is said', async () => {
    await mustRun(['snapshot', project, '--out', site]);
    const path = join(site, 'snapshot.json');
    await writeFile(path, (await readFile(path, 'utf8')).replace('"version": 1', '"version": 99'));
    const { code, err } = await snapshot(keep());
    expect({ code, told: /warning SNAPSHOT_FORMAT[^]*told as new/.test(err) }).toEqual({
      code: 0,
      told: true,
    });
    expect((await notice()).before).toBeNull();
    await writeFile(join(folder, '.site.stillmark-untold.json'), '{');
    expect((await snapshot(keep())).err).toMatch(/warning SNAPSHOT_FORMAT/);
    expect(await runs()).toBe(2);
    expect(await waiting()).toEqual([]);
  });
});

test('whatever moment a snapshot is killed at, no change is lost: the last that was told of each thing is how it stands', async () => {
  const log = join(folder, 'log');
  // One notice a line; whole or not at all, as a careful command writes.
  const append = `tr -d '\\n' > '${told}' && { cat '${told}'; echo; } >> '${log}'`;
  const days = ['2026-10-20', '2026-11-01', '2026-11-20'];
  await snapshot(append, ...asOf(days[0]!));
  const args = (day: string): string[] => [
    'snapshot',
    project,
    '--out',
    site,
    '--notify',
    append,
    ...asOf(day),
  ];
  for (let k = 1; k <= 14; k++)
    await new Promise<void>((resolve) => {
      const child = spawn(process.execPath, [built, ...args(days[k % 3]!)], { stdio: 'ignore' });
      const timer = globalThis.setTimeout(() => child.kill('SIGKILL'), 300 + 90 * k);
      child.on('close', () => {
        clearTimeout(timer);
        resolve();
      });
    });
  await mustRun(args(days[2]!));
  const notices = (await readFile(log, 'utf8'))
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as TransitionsNotice);
  const last = new Map(
    notices.flatMap(({ transitions }) =>
      transitions.map(({ kind, of, to }) => [`${kind} ${of}`, to] as const),
    ),
  );
  const fresh = join(folder, 'fresh');
  await mustRun(['snapshot', project, '--out', fresh, '--notify', keep(), ...asOf(days[2]!)]);
  expect(Object.fromEntries(last)).toEqual(
    Object.fromEntries((await notice()).transitions.map(({ kind, of, to }) => [`${kind} ${of}`, to])),
  );
  expect(await waiting()).toEqual([]);
});

describe('a step that fails leaves the last good site as it is, and nothing looks fresh', () => {
  const broken: [string, () => Promise<unknown>, RegExp][] = [
    [
      'a store of which a month is cut',
      () => truncate(join(project, 'store/epochs/month=2026-11/epochs.parquet'), 2000),
      /STORE_UNREADABLE/,
    ],
    [
      'a store of a later version',
      () => writeFile(join(project, 'store/store.json'), '{"format":"stillmark-store","version":99}'),
      /STORE_VERSION/,
    ],
    [
      'a project file that is not sound',
      () => appendFile(join(project, 'project.yaml'), '\n: :\n'),
      /PROJECT_SYNTAX/,
    ],
  ];
  test.each(broken)('%s', async (_, spoil, expected) => {
    await mustRun(['snapshot', project, '--out', site, ...asOf('2026-11-01')]);
    await mustRun(['publish', site, '--to', join(folder, 'public')]);
    const standing = async (): Promise<string[]> =>
      Promise.all(
        (await readdir(folder, { recursive: true }))
          .filter((name) => /^(site|public)\//.test(name))
          .sort()
          .map(async (name) => `${name} ${(await stat(join(folder, name))).mtimeMs}`),
      );
    const before = await standing();
    await spoil();
    const { code, out, err } = await snapshot(keep());
    expect({ code, out, told: expected.test(err) }, err).toEqual({ code: 1, out: '', told: true });
    expect(await runs()).toBe(0);
    // The recipes go on to publish: what is whole there is published already.
    expect((await mustRun(['publish', site, '--to', join(folder, 'public')])).out).toContain(
      'nothing was changed',
    );
    expect(await standing()).toEqual(before);
    expect((await readdir(folder)).sort()).toEqual(['project', 'public', 'site']);
  });

  test('a place that cannot be written leaves nothing that waits to be told', async () => {
    if (process.getuid?.() !== 0) return;
    await mustRun(['snapshot', project, '--out', site, ...asOf('2026-11-01')]);
    await chmod(folder, 0o755);
    const user = { uid: 12_345, gid: 12_345 };
    const refused = await stillmark(['snapshot', project, '--out', site, '--notify', keep()], user);
    expect(refused.code).toBe(1);
    expect(refused.err).toContain('the disk says no');
    expect(await waiting()).toEqual([]);
  });
});
