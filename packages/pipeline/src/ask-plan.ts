import type { Problem } from '@stillmark/problems';
import type { PlanRecord, ProjectRecord } from '@stillmark/records';
import type { Effects, Producer } from './effects.ts';
import { openUpToDate } from './remote-store.ts';
import { stateOf } from './state.ts';

/** What follows from the plan of a project, with epochs or before there are any. */
export async function plan(
  folder: string,
  producer: Producer,
  effects: Effects,
): Promise<{ project: ProjectRecord; plan: PlanRecord; problems: readonly Problem[] }> {
  const opened = await openUpToDate(folder, effects);
  // Without epochs nothing that is told depends on the time.
  const asOfMs = (await opened.store.newest()) === undefined ? effects.nowMs() : undefined;
  const { snapshot } = await stateOf(opened, asOfMs, producer, effects);
  return {
    project: snapshot.project,
    plan: snapshot.plan,
    problems: [...(opened.remote?.problems ?? []), ...snapshot.doubts],
  };
}
