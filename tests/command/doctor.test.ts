import { cp, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { doctor, nodeFiles, type Effects, type Machine } from '@stillmark/pipeline';
import { afterEach, beforeEach, describe, expect, inject, test } from 'vitest';
import { built, mustRun, stillmark } from '../support/command.ts';

let folder: string;
beforeEach(async () => (folder = await mkdtemp(join(tmpdir(), 'stillmark-doctor-'))));
afterEach(() => rm(folder, { recursive: true, force: true }));

/** A machine that has everything. */
const machine: Machine = {
  node: '24.0.0',
  memory: 8 * 2 ** 30,
  threads: 4,
  zoneData: '2026a',
  freeBytes: () => Promise.resolve(50 * 2 ** 30),
  mayWrite: () => Promise.resolve(true),
  program: () => Promise.resolve('/usr/bin/chromium'),
};
const at = (now: string): Effects => ({ files: nodeFiles, progress: () => {}, nowMs: () => Date.parse(now) });
const present = at('2026-11-26T08:00:00Z');
const stateOf = async (part: string, m: Partial<Machine>, project?: string, effects = present) => {
  const { findings, problems } = await doctor(project, { ...machine, ...m }, effects);
  const { state, found } = findings.find((f) => f.part === part)!;
  return { state, found, problems: problems.length };
};

describe('what a machine lacks is told, and stops only where it is needed', () => {
  test('a machine that has everything is fine, with and without a project', async () => {
    for (const project of [undefined, inject('demoProject')]) {
      const { findings, problems } = await doctor(project, machine, present);
      expect(findings.filter(({ state }) => state !== 'fine')).toEqual([]);
      expect(problems).toEqual([]);
      expect(findings.map(({ part }) => part)).toContain('clock');
    }
  });

  test.each<[string, Partial<Machine>, 'missing' | 'optional']>([
    ['node', { node: '18.20.1' }, 'missing'],
    ['memory', { memory: 2 ** 29 }, 'optional'],
    ['chromium', { program: () => Promise.resolve(undefined) }, 'optional'],
    ['right', { mayWrite: () => Promise.resolve(false) }, 'missing'],
    ['disk', { freeBytes: () => Promise.resolve(10 * 2 ** 20) }, 'missing'],
  ])('%s', async (part, lack, state) => {
    expect(await stateOf(part, lack, inject('demoProject'))).toMatchObject({
      state,
      problems: state === 'missing' ? 1 : 0,
    });
  });

  test('a clock that is behind the newest epoch, or before this command was written', async () => {
    const project = inject('demoProject');
    expect(await stateOf('clock', {}, project, at('2026-11-20T23:00:00Z'))).toEqual({
      state: 'missing',
      found: 'it says 2026-11-20T23:00:00Z, and the newest epoch, 2026-11-22T23:00:00Z, is 2 days later',
      problems: 1,
    });
    // As ingest does, a day is granted.
    expect(await stateOf('clock', {}, project, at('2026-11-22T10:00:00Z'))).toMatchObject({ state: 'fine' });
    expect(await stateOf('clock', {}, undefined, at('1970-01-01T00:04:00Z'))).toMatchObject({
      state: 'missing',
    });
  });

  test('a store of a later version, one that is damaged, one without epochs, and a project file that is wrong', async () => {
    const project = join(folder, 'project');
    await cp(inject('demoProject'), project, { recursive: true });
    await writeFile(join(project, 'store/store.json'), '{"format":"stillmark-store","version":99}');
    expect(await stateOf('store', {}, project)).toMatchObject({
      state: 'missing',
      found: expect.stringContaining('version 99') as string,
    });
    await rm(join(project, 'store/store.json'));
    await writeFile(join(project, 'store/epochs/month=2026-11/epochs.parquet'), 'not Parquet');
    expect(await stateOf('store', {}, project)).toMatchObject({ state: 'missing', problems: 1 });
    await rm(join(project, 'store'), { recursive: true });
    expect(await stateOf('store', {}, project)).toMatchObject({ state: 'fine', found: 'none yet' });
    await writeFile(join(project, 'project.yaml'), 'title: [');
    expect(await stateOf('project', {}, project)).toMatchObject({ state: 'missing' });
    await rm(join(project, 'project.yaml'));
    expect(await stateOf('project', {}, project)).toMatchObject({ state: 'missing', found: 'not there' });
  });
});

describe('the command', () => {
  test('says it line by line, and as JSON', async () => {
    const { out } = await mustRun(['doctor', inject('demoProject')]);
    expect(out).toMatch(/^fine {6}Node: \d+\.\d+\.\d+$/m);
    expect(out).toMatch(/^fine {6}store: 3 months$/m);
    const data = JSON.parse((await mustRun(['doctor', '--json'])).out) as { findings: object[] };
    expect(data).toMatchObject({ ok: true, findings: expect.arrayContaining([{ part: 'node', state: 'fine', found: process.versions.node }]) as object }); // prettier-ignore
    expect((await stillmark(['doctor', join(folder, 'nowhere')])).code).toBe(2);
  });

  test('runs where the database engine is missing, says what for and how to get it, and verify and publish need none', async () => {
    await cp(join(built, '..'), join(folder, 'dist'), { recursive: true });
    await writeFile(join(folder, 'package.json'), '{ "type": "module" }');
    const program = [process.execPath, join(folder, 'dist/stillmark.js')] as const;
    const { code, out, err } = await stillmark(['doctor'], { program });
    expect(code).toBe(1);
    expect(out).toMatch(
      /^missing {3}database engine \(DuckDB\): .*\n {10}for: ingest, commit and snapshot.*\n {10}get: `npm install`/m,
    );
    expect(err).toContain('error MACHINE_LACKS');
    expect(await stillmark(['verify', inject('demoSite')], { program })).toMatchObject({ code: 0 });
    expect(await stillmark(['publish', inject('demoSite'), '--to', join(folder, 'public')], { program })).toMatchObject({ code: 0 }); // prettier-ignore
    const snapshot = await stillmark(['snapshot', inject('demoProject'), '--out', join(folder, 'site')], {
      program,
    });
    expect({ code: snapshot.code, told: /STORE_ENGINE/.test(snapshot.err) }).toEqual({ code: 1, told: true });
  });
});
