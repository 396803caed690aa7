import { join } from 'node:path';
import { fail } from '@stillmark/problems';
import type { Project } from '@stillmark/project';
import type { AlarmLoadRecord, Snapshot } from '@stillmark/records';
import { alarmLoadOf } from './alarm-load.ts';
import { analyseProject } from './analyse-project.ts';
import type { Effects } from './effects.ts';
import { projectFile } from './project-folder.ts';
import { openUpToDate } from './remote-store.ts';

/**
 * The alarm load of a project: from the noise of its positions, and from the noise that it assumes where there are none yet.
 *
 * @throws PROJECT_VALUE where the project file asks nothing of alarms, or there is no noise to go by
 */
export async function alarmLoad(
  folder: string,
  effects: Effects,
): Promise<{ project: Pick<Snapshot['project'], 'axes'>; loads: AlarmLoadRecord[] }> {
  const opened = await openUpToDate(folder, effects);
  const { project } = opened;
  const at = { file: join(folder, projectFile) };
  if (project.alarmLoad.length === 0)
    return fail('PROJECT_VALUE', 'the project file asks nothing of alarms', {
      at,
      hint: 'alarmLoad: with falseAlarms, step or ramp, and levels',
    });
  const all = await analyseProject(opened, undefined, effects);
  const loads = alarmLoadOf(project, all?.analysed ?? [], all?.until ?? 0);
  if (loads.every(({ candidates }) => candidates.length === 0))
    return fail('PROJECT_VALUE', 'the noise of no station is known, and none is assumed', {
      at,
      hint: 'assumedNoise: or a committed reference position',
    });
  return { project: axesRecord(project), loads };
}

function axesRecord({ axes }: Project): Pick<Snapshot['project'], 'axes'> {
  if (!axes) return {};
  const { longitudinalAzimuth: longitudinalAzimuthDeg, transverse } = axes;
  return { axes: { longitudinalAzimuthDeg, ...(transverse === undefined ? {} : { transverse }) } };
}
