import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import committed from '@stillmark/data/larkmoor-dam/committed.json' with { type: 'json' };
import { writeLarkmoor } from '@stillmark/data/larkmoor-dam/write.ts';
import type { TestProject } from 'vitest/node';
import { mustRun, type RunOptions } from './command.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** Folder of the small demo project, ingested and committed. Not to be changed: copy it. */
    demoProject: string;
    /** Its snapshot. Not to be changed: copy it. */
    demoSite: string;
    /** The demo project of the README, ingested and committed. Not to be changed: copy it. */
    larkmoorProject: string;
    /** Its snapshot: two streams, axes, outline, logs. Not to be changed. */
    larkmoorSite: string;
  }
}

/** Runs the main job of both demo projects once for all tests of this workspace. */
export async function setup(project: TestProject): Promise<() => Promise<void>> {
  const folder = await mkdtemp(join(tmpdir(), 'stillmark-tests-'));
  const [demo, site, larkmoorProject, larkmoorSite] = [
    join(folder, 'project'),
    join(folder, 'site'),
    join(folder, 'larkmoor-project'),
    join(folder, 'larkmoor'),
  ];
  await makeDemo(demo, site);
  await makeLarkmoor(larkmoorProject, larkmoorSite);
  project.provide('demoProject', demo);
  project.provide('demoSite', site);
  project.provide('larkmoorProject', larkmoorProject);
  project.provide('larkmoorSite', larkmoorSite);
  return () => rm(folder, { recursive: true, force: true });
}

/** The main job on the small demo project, from nothing to a site, by the built command. */
export async function makeDemo(
  project: string,
  site: string,
  options: RunOptions = {},
  write = writeHarrowfold,
): Promise<void> {
  await write(project);
  await mustRun(['ingest', project], options);
  const when = ['--from', '2026-09-14', '--to', '2026-10-12', '--at', '2026-10-13T08:00:00Z'];
  const by = ['--by', 'survey office of the project'];
  await mustRun(['commit', project, 'B2', 'S1', 'S2', ...when, ...by], options);
  await mustRun(['snapshot', project, '--out', site], options);
}

/** The same on the demo project of the README. */
export async function makeLarkmoor(project: string, site: string): Promise<void> {
  await writeLarkmoor(project);
  await mustRun(['ingest', project]);
  const { by, positions, responses } = committed;
  for (const [command, { stations, from, to, at }] of [
    ['commit', positions],
    ['commit-response', responses],
  ] as const)
    await mustRun([command, project, ...stations, '--from', from, '--to', to, '--at', at, '--by', by]);
  await mustRun(['snapshot', project, '--out', site]);
}
