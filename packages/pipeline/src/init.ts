import { readStationList } from '@stillmark/formats';
import { fail, ProblemError } from '@stillmark/problems';
import { readProject, starterProject, type StarterTask } from '@stillmark/project';
import { join } from 'node:path';
import type { Effects } from './effects.ts';
import { projectFile } from './project-folder.ts';

export interface InitTask extends Omit<StarterTask, 'stations'> {
  /** CSV file of the stations: id, role, on, latitude, longitude, height. */
  readonly stations: string;
}

/**
 * Writes the project file of a new network.
 *
 * @throws USE_OUTPUT_TAKEN where the folder has a project file, USE_FILE_MISSING, the problems of the list's rows (all at once), and those
 * that the project file would have
 */
export async function init(
  folder: string,
  { stations: list, ...task }: InitTask,
  { files }: Effects,
): Promise<{ file: string; stations: number; bases: number }> {
  const file = join(folder, projectFile);
  if ((await files.kind(file)) !== 'nothing')
    fail('USE_OUTPUT_TAKEN', 'the folder has a project file', {
      at: { file },
      hint: 'another folder; nothing is written over',
    });
  const bytes = (await files.kind(list)) === 'file' ? await files.read(list) : undefined;
  if (!bytes)
    return fail('USE_FILE_MISSING', 'there is no such file', {
      at: { file: list },
      hint: 'a CSV file with the columns id, role, on, latitude, longitude, height',
    });
  const { rows, rejected } = readStationList(bytes, list);
  if (rejected.length > 0) throw new ProblemError(rejected.map((r) => r.problem));
  const bases = rows.filter(({ role }) => role === 'base').length;
  if (bases === 0)
    fail('PROJECT_VALUE', 'the list has no base', {
      at: { file: list },
      hint: 'at least one station of role base, better three: one base that moves looks like a movement of everything',
    });
  const text = starterProject({ ...task, stations: rows });
  const { problems } = readProject(text, file);
  if (problems.length > 0) throw new ProblemError(problems);
  await files.write(file, text);
  return { file, stations: rows.length, bases };
}
