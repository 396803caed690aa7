import { appendFile, cp, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { truth } from '@stillmark/data/harrowfold-slope/truth.ts';
import type { AlarmLoadRecord, Snapshot, WatchedRecord } from '@stillmark/records';
import { afterEach, beforeEach, describe, expect, inject, test } from 'vitest';
import { mustRun, stillmark } from '../support/command.ts';

// Levels on the small demo slope: S2 creeps 0.26 mm a day down the slope since 18 October, S1 stands still, S3 is new.
let folder: string;
let project: string;
let site: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-levels-'));
  project = join(folder, 'project');
  site = join(folder, 'site');
  await cp(inject('demoProject'), project, { recursive: true });
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const triggers = `
triggers:
  - name: slide
    quantity: horizontal
    levels:
      - { name: attention, at: 3 mm, responsible: measurement }
      - { name: alert, at: 30 mm, responsible: slope stability }
`;
async function snapshotWith(more: string, ...args: string[]): Promise<Snapshot> {
  await appendFile(join(project, 'project.yaml'), more);
  await mustRun(['snapshot', project, '--out', site, ...args]);
  return JSON.parse(await readFile(join(site, 'snapshot.json'), 'utf8')) as Snapshot;
}
const watchedOf = (snapshot: Snapshot, of: string): WatchedRecord =>
  snapshot.triggers[0]!.watched.find((w) => w.of === of)!;

describe('the log of levels', () => {
  test('the creeping station reaches its level after the creep began; earlier snapshots say the same of what was before', async () => {
    const late = await snapshotWith(triggers);
    const rise = watchedOf(late, 'S2').changes.find(({ to }) => to.level === 1)!;
    expect(Date.parse(rise.at)).toBeGreaterThan(Date.parse(truth.creep.from));
    expect(watchedOf(late, 'S1').changes.map(({ to }) => to)).toEqual([{ condition: 'measured', level: 0 }]);
    expect(watchedOf(late, 'S3')).toMatchObject({ state: { condition: 'establishing' }, changes: [] });
    const early = await snapshotWith('', '--as-of', rise.at);
    const before = watchedOf(late, 'S2').changes.filter(({ at }) => at <= rise.at);
    expect(watchedOf(early, 'S2').changes).toEqual(before);
  });

  test('an engineer who takes the base as moving puts its stations in doubt from then on, and who takes it as stable ends that', async () => {
    const snapshot = await snapshotWith(`${triggers}
decisions:
  - { base: B1, finding: moving, since: 2026-10-25T00:00:00Z, by: somebody, at: 2026-11-02T09:00:00Z, why: A crack in its plinth. }
  - { base: B1, finding: stable, by: somebody, at: 2026-11-10T09:00:00Z, why: Levelled; the crack is in the render. }
`);
    expect(watchedOf(snapshot, 'S1').changes.map(({ at, to, why }) => [at, to.condition, why])).toEqual([
      ['2026-10-13T00:00:00Z', 'measured', undefined],
      ['2026-10-25T00:00:00Z', 'in-doubt', 'base B1 in doubt'],
      ['2026-11-10T09:00:00Z', 'measured', undefined],
    ]);
    // Doubt hides nothing: the level of the other station is reached beneath it.
    const { changes } = watchedOf(snapshot, 'S2');
    expect(changes.some(({ to }) => to.condition === 'in-doubt')).toBe(true);
    expect(changes.at(-1)!.to.level).toBe(1);
  });

  test('an antenna touched today erases nothing: what was reached stays reached, in doubt until it can be tied', async () => {
    await snapshotWith(triggers);
    const before = watchedOf(
      JSON.parse(await readFile(join(site, 'snapshot.json'), 'utf8')) as Snapshot,
      'S2',
    );
    const path = join(project, 'project.yaml');
    await writeFile(
      path,
      (await readFile(path, 'utf8')).replace(
        'events:\n',
        'events:\n  - { at: 2026-11-22T18:00:00Z, what: antenna cleaned, kind: instrument, station: S2 }\n',
      ),
    );
    const after = watchedOf(await snapshotWith(''), 'S2');
    expect(after.state).toEqual({ condition: 'in-doubt', level: 1 });
    expect(after.changes.slice(0, -1)).toEqual(before.changes);
    expect(after.changes.at(-1)).toMatchObject({
      at: '2026-11-22T18:00:00Z',
      why: 'cannot be tied yet: antenna cleaned',
    });
  });

  test('a trigger that cannot be judged takes no statement with it, and none of other triggers', async () => {
    const { headline } = await snapshotWith(triggers);
    const rash = `  - name: rash
    quantity: horizontal
    rateOver: 6 d
    window: 6 h
    levels: [{ name: a, at: 5 mm/d, responsible: measurement }]
`;
    const path = join(project, 'project.yaml');
    await writeFile(path, (await readFile(path, 'utf8')).replace('triggers:\n', `triggers:\n${rash}`));
    const snapshot = await snapshotWith('');
    expect(snapshot.headline).toEqual(headline);
    expect(snapshot.triggers[1]!.watched.find(({ of }) => of === 'S2')!.state.level).toBe(1);
  });

  test('hourly snapshots in the midst of a day say nothing of staleness where data are there, and the same of what was', async () => {
    await snapshotWith(triggers, '--as-of', '2026-11-20T13:10:00Z');
    const first = JSON.parse(await readFile(join(site, 'snapshot.json'), 'utf8')) as Snapshot;
    expect(watchedOf(first, 'S1').state.condition).toBe('measured');
    const { triggers: later } = await snapshotWith('', '--as-of', '2026-11-20T17:10:00Z');
    expect(later).toEqual(first.triggers);
  });

  test('what is said to a change that is not there is a doubt, and nothing is lost', async () => {
    const snapshot = await snapshotWith(`${triggers}
acknowledgements:
  - { trigger: slide, of: S2, change: 2026-10-01T00:00:00Z, by: somebody, at: 2026-10-02T00:00:00Z }
`);
    expect(snapshot.doubts.map(({ message }) => message)).toContain(
      'somebody acknowledged a change of slide at S2 of 2026-10-01T00:00:00Z, which the log does not have (any more)',
    );
  });

  test('two snapshots of the same project have the same log to the byte', async () => {
    const { triggers: first } = await snapshotWith(triggers);
    const [csv, atom] = await Promise.all(
      ['log.csv', 'log.atom'].map((f) => readFile(join(site, f), 'utf8')),
    );
    await rm(site, { recursive: true });
    const { triggers: second } = await snapshotWith('');
    expect(second).toEqual(first);
    expect(await readFile(join(site, 'log.csv'), 'utf8')).toBe(csv);
    expect(await readFile(join(site, 'log.atom'), 'utf8')).toBe(atom);
  });
});

describe('what speaks for or against the bases', () => {
  test('a change of the processing that no event ties puts its figures in doubt, an event ends that', async () => {
    const path = join(project, 'project.yaml');
    const text = await readFile(path, 'utf8');
    const processing = `    processing:
      - { from: 2026-09-01T00:00:00Z, engine: invented 1 }
      - { from: 2026-11-01T00:00:00Z, engine: invented 2 }
`;
    await writeFile(
      path,
      text.replace('    solution: epoch-wise\n', `    solution: epoch-wise\n${processing}`),
    );
    const doubted = await snapshotWith(triggers);
    expect(doubted.headline).toMatchObject({ moved: [], still: [], doubted: ['S1', 'S2'] });
    expect(watchedOf(doubted, 'S1').state.condition).toBe('in-doubt');
    expect(watchedOf(doubted, 'S1').since).toBe('2026-11-01T00:00:00Z');
    expect(await readFile(join(site, 'network.html'), 'utf8')).toContain(
      'engine invented 1, then invented 2',
    );
    await writeFile(
      path,
      (await readFile(path, 'utf8')).replace(
        'events:\n',
        'events:\n  - { at: 2026-11-01T00:00:00Z, what: new engine, kind: processing }\n',
      ),
    );
    const tied = await snapshotWith('');
    expect(tied.headline.doubted).toEqual([]);
    expect(watchedOf(tied, 'S1').state.condition).toBe('measured');
  });

  test('a check survey stands beside what positions say of the same movement at its time', async () => {
    const { network } = await snapshotWith(`
surveys:
  - { station: S2, at: 2026-11-20T00:00:00Z, method: total station, by: somebody, result: It creeps.,
      movement: { east: { value: 6.6 mm, plusMinus: 1.5 mm }, up: { value: 40 mm, plusMinus: 2 mm } } }
  - { station: S3, at: 2026-11-20T00:00:00Z, method: tape, by: somebody, result: Nothing to see. }
`);
    const [east, up] = network.surveys[0]!.components;
    expect(east).toMatchObject({ axis: 'east', agrees: true });
    expect(up).toMatchObject({ axis: 'up', agrees: false });
    // 33 days of creep until then.
    expect(Math.abs(east!.ours_mm! - 33 * truth.creep.eastPerDay)).toBeLessThan(
      1.5 * east!.oursPlusMinus_mm!,
    );
    expect(network.surveys[1]!.components).toEqual([]);
  });
});

const asked = `
alarmLoad:
  - quantity: horizontal
    falseAlarms: 1
    step: { size: 15 mm, within: 2 d }
    levels: [6 mm, 10 mm]
    windows: [6 h, 24 h]
`;
describe('alarm-load', () => {
  test('before there is any position: from the noise that is assumed', async () => {
    await rm(join(project, 'store'), { recursive: true });
    await rm(join(project, 'reference-positions.yaml'));
    await appendFile(
      join(project, 'project.yaml'),
      `${asked}
assumedNoise: { horizontal: { white: 1.5 mm, flicker: 3 mm }, up: { white: 3 mm, flicker: 5 mm }, source: a like network }
`,
    );
    const { out } = await mustRun(['alarm-load', project, '--json']);
    const [load] = (JSON.parse(out) as { loads: AlarmLoadRecord[] }).loads;
    expect(load).toMatchObject({ measured: [], assumed: ['S1', 'S2', 'S3'], shared: 0.5 });
    expect(load!.candidates.length).toBe(2 * 2 * 3 * 2);
    const { code, out: said } = await stillmark(['alarm-load', project]);
    expect(code).toBe(0);
    expect(said).toContain('Recommended: means of');
  });

  test('from measured noise where there is some; stations without are left out', async () => {
    await appendFile(join(project, 'project.yaml'), asked);
    const { out } = await mustRun(['alarm-load', project, '--json']);
    const [load] = (JSON.parse(out) as { loads: AlarmLoadRecord[] }).loads;
    expect(load).toMatchObject({ measured: ['S1', 'S2'], assumed: [] });
    // Longer means of the same level alarm less often by mistake.
    const rates = [6, 24].map((hours) =>
      load!.candidates
        .filter((c) => c.windowMs === hours * 3_600_000 && c.level_mm === 6 && c.persistence.of === 1)
        .map(({ network }) => network),
    );
    expect(rates[0]![0]).toBeGreaterThan(rates[1]![0]!);
  });

  test.each([
    ['', 'the project file asks nothing of alarms'],
    [
      asked.replace('    step: { size: 15 mm, within: 2 d }\n', ''),
      'alarm load 1 asks for no movement to be found',
    ],
    [asked.replace('falseAlarms: 1', 'falseAlarms: 0'), 'falseAlarms of alarmLoad 1'],
    [asked.replace('[6 h, 24 h]', '[5 h]'), 'window 1 of alarm load 1 is no whole number'],
  ])('%s', async (more, message) => {
    await appendFile(join(project, 'project.yaml'), more);
    const { code, err } = await stillmark(['alarm-load', project]);
    expect(code).toBe(1);
    expect(err).toContain(message);
  });
});
