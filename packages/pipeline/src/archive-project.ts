import { join } from 'node:path';
import { isDeepStrictEqual } from 'node:util';
import { problem, warning, type Problem } from '@stillmark/problems';
import type { Snapshot } from '@stillmark/records';
import picomatch from 'picomatch';
import { backgroundFiles } from './background.ts';
import { sourcesOf } from './deliveries.ts';
import { hashOfFile } from './delivered-file.ts';
import type { Effects, Files } from './effects.ts';
import { readLedger } from './ledger.ts';
import type { BagFile } from './bag.ts';
import {
  checkInside,
  filesOf,
  projectFile,
  referenceFile,
  releasesFile,
  responseFile,
  storeFolder,
  type ProjectFolder,
} from './project-folder.ts';
import { readWordsOf, wordsOfSite } from './words-file.ts';

/** What of a project folder goes into an archive, as sorted paths. */
export interface ProjectFiles {
  /** What a snapshot reads beside the store: the project file, what was committed and released, the outline, the background, words, orbits of the plan. */
  readonly written: readonly string[];
  /** What was delivered, and the orbits that it is read with. */
  readonly delivered: readonly string[];
  /** Of these the orbits, which are read and not ingested. */
  readonly orbits: ReadonlySet<string>;
  /** Patterns of these; a file that they match is taken for a delivery. */
  readonly patterns: readonly string[];
  readonly problems: readonly Problem[];
}

/**
 * Everything that the project file names, and the files of what was committed.
 *
 * @throws INPUT_PLACE where a link leads out of the folder, INPUT_NONE where it leads to no file
 */
export async function projectFiles(opened: ProjectFolder, effects: Effects): Promise<ProjectFiles> {
  const { files } = effects;
  const { project, folder } = opened;
  const tracked = project.tracking.map((t) => ({ what: `orbits of tracking ${t.name}`, files: t.orbits }));
  const planned = { what: 'orbits of the plan', files: project.plan?.sky?.orbits ?? [] };
  const problems: Problem[] = [];
  const pathsOf = async (asked: readonly { what: string; files: readonly string[] }[]): Promise<string[]> => {
    const found = await Promise.all(asked.map((source) => filesOf(opened, source, files)));
    // Of an old network something may never have come; the site was computed all the same.
    problems.push(...found.flatMap((f) => f.problems.map((p): Problem => ({ ...p, severity: 'warning' }))));
    return found.flatMap(({ paths }) => paths);
  };
  const ingested = await pathsOf(sourcesOf(opened, effects));
  const orbits = await pathsOf(tracked);
  const delivered = new Set([...ingested, ...orbits]);
  // The plan is computed anew with its orbits by each snapshot.
  const written = await pathsOf([planned]);
  for (const path of [project.outline, project.words]) if (path !== undefined) written.push(path);
  written.push(...(await backgroundFiles(opened, files)));
  for (const path of [...written, ...delivered]) await checkInside(opened, path, files);
  const frozen = (await files.list(folder)).filter((path) =>
    /^releases\/[\w.-]+\.(?:json|png|jpg|webp)$/.test(path),
  );
  for (const path of [projectFile, referenceFile, responseFile, releasesFile, ...frozen])
    if ((await files.kind(join(folder, path))) === 'file') written.push(path);
  for (const path of written) delivered.delete(path);
  return {
    written: [...new Set(written)].sort(),
    delivered: [...delivered].sort(),
    orbits: new Set(orbits.filter((path) => !ingested.includes(path))),
    patterns: [...sourcesOf(opened, effects), ...tracked, planned].flatMap((source) => source.files),
    problems,
  };
}

/** Whether a path in the project folder would be taken for a delivered file. */
export function isDelivered(path: string, { patterns }: ProjectFiles): boolean {
  return patterns.some((pattern) => picomatch(pattern)(path));
}

/**
 * What keeps a site from being that of a project as it stands: another title, or inputs that are not those it was computed from.
 *
 * @param site its folder, for problems
 */
export async function strangerProblems(
  opened: ProjectFolder,
  snapshot: Snapshot,
  site: string,
  files: Files,
): Promise<Problem[]> {
  const { project, folder } = opened;
  const { title } = snapshot.project;
  if (title !== project.title)
    return [
      problem('ARCHIVE_SITE', `the site is that of '${title}', and the project is '${project.title}'`, {
        at: { file: site },
        hint: 'the project folder from which the site was made',
      }),
    ];
  const hint = `\`stillmark snapshot ${folder} --out ${site}\`, and then the archive; or the project folder as it was`;
  const say = (path: string, message: string): Problem =>
    problem('ARCHIVE_SITE', message, { at: { file: path }, hint });
  const stated = new Map(snapshot.inputs.map((input) => [input.path, input.sha256]));
  const problems: Problem[] = [];
  for (const path of await inputPaths(opened, files)) {
    const hash = stated.get(path);
    stated.delete(path);
    if (hash === undefined) problems.push(say(path, 'the site was computed without this file'));
    else if (hash !== (await hashOfFile(join(folder, path), files)))
      problems.push(say(path, 'the file is not that from which the site was computed'));
  }
  for (const path of stated.keys())
    problems.push(say(path, 'the site was computed from this file, and it is not there any more'));
  // Words are in no figure and so no input: the site carries those that it was written in.
  const [spoken, own] = await Promise.all([wordsOfSite(site, files), readWordsOf(opened, files)]);
  if (!isDeepStrictEqual(spoken, own?.words))
    problems.push(
      say(project.words ?? 'words.json', 'the site was written in other words than those of the project'),
    );
  return problems;
}

/** Paths of everything that a snapshot of the project would name as input now. */
async function inputPaths(opened: ProjectFolder, files: Files): Promise<string[]> {
  const { project, folder, store, readings, tracking } = opened;
  const paths: string[] = [];
  const background = await backgroundFiles(opened, files);
  for (const path of [projectFile, referenceFile, responseFile, project.outline, ...background])
    if (path !== undefined && (await files.kind(join(folder, path))) === 'file') paths.push(path);
  for (const table of [store, readings, tracking])
    paths.push(...(await table.partitions()).map(({ path }) => `${storeFolder}/${path}`));
  return paths;
}

/** Files of the store that are its rows and where they came from; what can be computed from them, and locks, are none. */
export async function storeFiles({ folder }: ProjectFolder, files: Files): Promise<string[]> {
  if ((await files.kind(join(folder, storeFolder))) !== 'folder') return [];
  return (await files.list(join(folder, storeFolder)))
    .filter((path) => /^(?:epochs|readings|tracking|rejects)\/|^(?:store|deliveries)\.json$/.test(path))
    .filter((path) => !path.endsWith('.partial'))
    .map((path) => `${storeFolder}/${path}`);
}

const tables = { epochs: 'positions', readings: 'readings', tracking: 'hours of tracking' } as const;

/**
 * Whether the store can be built again from the delivered files that are at hand: an error where it holds more rows than they
 * gave, a warning where one of them was not ingested, or where another one is gone.
 */
export async function rebuildProblems(
  opened: ProjectFolder,
  { inputs }: Snapshot,
  delivered: readonly BagFile[],
  orbits: ReadonlySet<string>,
  effects: Effects,
): Promise<Problem[]> {
  const ledger = [...(await readLedger(opened, effects)).values()];
  const at = (path: string): { at: { file: string } } => ({ at: { file: path } });
  const hashes = new Map(delivered.map((file) => [file.path, file.sha256]));
  const known = new Set(ledger.map((entry) => `${entry.file} ${entry.sha256}`));
  const problems = delivered
    .filter(({ path, sha256 }) => !orbits.has(path) && !known.has(`${path} ${sha256}`))
    .map(({ path }) =>
      warning('ARCHIVE_INPUTS', 'the file has not been ingested as it is, or could not be read', {
        ...at(path),
        hint: '`stillmark ingest` and `stillmark snapshot`, and then the archive',
      }),
    );
  // A file may have another name now.
  const contents = new Set(hashes.values());
  const gone = ledger
    .filter(({ file, sha256, rows }) => rows > 0 && !hashes.has(file) && !contents.has(sha256))
    .map(({ file }) => file);
  for (const [table, what] of Object.entries(tables)) {
    const sources = new Set(
      sourcesOf(opened, effects)
        .filter((source) => source.table === table)
        .map((source) => source.what),
    );
    const gave = ledger
      .filter((entry) => sources.has(entry.source) && hashes.get(entry.file) === entry.sha256)
      .reduce((sum, { rows }) => sum + rows, 0);
    const held = inputs
      .filter(({ path }) => path.startsWith(`${storeFolder}/${table}/`))
      .reduce((sum, { rows }) => sum + (rows ?? 0), 0);
    if (gave < held)
      problems.push(
        problem(
          'ARCHIVE_INPUTS',
          `the store holds ${held} ${what}, and the delivered files that are at hand gave ${gave} of them`,
          {
            ...at(storeFolder),
            hint: '`--store` to take the store along; or the files that are missing, back in their place',
          },
        ),
      );
  }
  problems.push(
    ...[...new Set(gone)].map((path) =>
      warning('ARCHIVE_INPUTS', 'the file was ingested, and is not in the project folder any more', {
        ...at(path),
        hint: 'the file back in its place, or `--store` to take the store along',
      }),
    ),
  );
  return problems;
}
