import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { writeHarrowfold } from '@stillmark/data/harrowfold-slope/write.ts';
import type { TestProject } from 'vitest/node';
import { mustRun, type RunOptions } from './command.ts';

declare module 'vitest' {
  interface ProvidedContext {
    /** Folder of the demo project, ingested and committed. Not to be changed: copy it. */
    demoProject: string;
    /** Its snapshot. Not to be changed: copy it. */
    demoSite: string;
  }
}

/** Runs the main job of the demo once for all tests of this workspace. */
export async function setup(project: TestProject): Promise<() => Promise<void>> {
  const folder = await mkdtemp(join(tmpdir(), 'stillmark-tests-'));
  const [demo, site] = [join(folder, 'project'), join(folder, 'site')];
  await makeDemo(demo, site);
  project.provide('demoProject', demo);
  project.provide('demoSite', site);
  return () => rm(folder, { recursive: true, force: true });
}

/** The main job on the demo project, from nothing to a site, by the built command. */
export async function makeDemo(
  project: string,
  site: string,
  options: RunOptions = {},
  write = writeHarrowfold,
): Promise<void> {
  await write(project);
  await mustRun(['ingest', project], options);
  for (const station of ['B2', 'S1', 'S2']) {
    const when = ['--from', '2026-09-14', '--to', '2026-10-12', '--at', '2026-10-13T08:00:00Z'];
    await mustRun(['commit', project, station, ...when, '--by', 'survey office of the project'], options);
  }
  await mustRun(['snapshot', project, '--out', site], options);
}
