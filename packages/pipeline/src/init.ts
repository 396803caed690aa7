import { readStationList } from '@stillmark/formats';
import { fail, problem, ProblemError } from '@stillmark/problems';
import { readProject, starterProject, type StarterTask } from '@stillmark/project';
import { join } from 'node:path';
import type { Effects, Files } from './effects.ts';
import { projectFile } from './project-folder.ts';

export interface InitTask extends Omit<StarterTask, 'stations'> {
  /** CSV of the stations (id, role, on, latitude, longitude, height): a file, or rows that were typed. */
  readonly stations: string | { readonly typed: readonly string[] };
}

const columns = 'id,role,on,latitude,longitude,height';
/** Stands in problems for a file of what was typed. */
const typedFile = 'the stations that were typed';

const typedBytes = (rows: readonly string[]): Uint8Array =>
  new TextEncoder().encode(`${[columns, ...rows].join('\n')}\n`);

/** What is wrong with a station as it was typed; undefined where it can be used. */
export function wrongStation(row: string): string | undefined {
  const { rejected } = readStationList(typedBytes([row]), typedFile);
  const [first] = rejected;
  return (
    first && `${first.problem.message}${first.problem.hint === undefined ? '' : `; ${first.problem.hint}`}`
  );
}

/**
 * The project file that is to be written.
 *
 * @throws USE_OUTPUT_TAKEN where the folder has one
 */
export async function checkUnused(folder: string, { files }: Pick<Effects, 'files'>): Promise<string> {
  const file = join(folder, projectFile);
  if ((await files.kind(file)) !== 'nothing')
    fail('USE_OUTPUT_TAKEN', 'the folder has a project file', {
      at: { file },
      hint: 'another folder; nothing is written over',
    });
  return file;
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
  const file = await checkUnused(folder, { files });
  const listFile = typeof list === 'string' ? list : typedFile;
  const bytes = typeof list === 'string' ? await readList(list, files) : typedBytes(list.typed);
  const { rows, rejected } = readStationList(bytes, listFile);
  if (rejected.length > 0) throw new ProblemError(rejected.map((r) => r.problem));
  const bases = rows.filter(({ role }) => role === 'base').length;
  if (bases === 0)
    fail('PROJECT_VALUE', 'the list has no base', {
      at: { file: listFile },
      hint: 'at least one station of role base, better three: one base that moves looks like a movement of everything',
    });
  const text = starterProject({ ...task, stations: rows });
  const { problems } = readProject(text, file);
  // Nothing is written, so there is no line to point at.
  if (problems.length > 0)
    throw new ProblemError(
      problems.map(({ code, message, hint, allowed }) =>
        problem(code, message, {
          at: { file },
          ...(hint === undefined ? {} : { hint }),
          ...(allowed ? { allowed } : {}),
        }),
      ),
    );
  await files.write(file, text);
  return { file, stations: rows.length, bases };
}

async function readList(file: string, files: Files): Promise<Uint8Array> {
  const bytes = (await files.kind(file)) === 'file' ? await files.read(file) : undefined;
  return (
    bytes ??
    fail('USE_FILE_MISSING', 'there is no such file', {
      at: { file },
      hint: 'a CSV file with the columns id, role, on, latitude, longitude, height',
    })
  );
}
