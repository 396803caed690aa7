import { join } from 'node:path';
import { fail, ProblemError, warning, type Problem } from '@stillmark/problems';
import { backgroundFiles } from './background.ts';
import type { Effects, Files } from './effects.ts';
import { filesOf, openProject, projectFile, storeFolder, type ProjectFolder } from './project-folder.ts';

/** Folder of the projects, inside that of the workspaces. */
const projectsFolder = 'projects';
/** Folder of a snapshot, inside that of its project. */
const siteFolder = 'site';

export interface WorkspacesResult {
  readonly projects: readonly string[];
  /** Paths inside the folder. */
  readonly written: readonly string[];
  /** What stood there before, and was left as it is. */
  readonly kept: readonly string[];
  readonly problems: readonly Problem[];
}

/**
 * Makes the projects of a folder workspaces of npm and tasks of Turborepo: a snapshot is then computed only where something it rests on has
 * changed. Writes only what is not there yet.
 *
 * @throws USE_FOLDER_MISSING, PROJECT_MISSING where there is no project, PROJECT_DUPLICATE where two would have one name, and every problem of
 * the project files
 */
export async function workspaces(
  folder: string,
  { files, progress }: Pick<Effects, 'files' | 'progress'>,
): Promise<WorkspacesResult> {
  const projects = await projectsIn(folder, files);
  const problems: Problem[] = [];
  const wanted = new Map<string, string>([
    ['package.json', json(rootPackage)],
    ['turbo.json', json(tasks)],
    ['.gitignore', ignored],
  ]);
  for (const { name, path } of projects) {
    progress(`reading ${path}`);
    const opened = await openAt(folder, path, files);
    problems.push(...(await unseenLinks(opened, path, files)));
    wanted.set(`${path}/package.json`, json(projectPackage(name)));
  }
  const [written, kept]: [string[], string[]] = [[], []];
  for (const [path, text] of wanted) {
    const isThere = (await files.kind(join(folder, path))) !== 'nothing';
    (isThere ? kept : written).push(path);
    if (!isThere) await files.write(join(folder, path), text);
  }
  return { projects: projects.map(({ name }) => name), written, kept, problems };
}

/** Where the page over all projects stands among what is published. */
const overview = 'overview';

interface Workspace {
  /** As npm and Turborepo call it. */
  readonly name: string;
  /** Inside the folder, with forward slashes. */
  readonly path: string;
}

async function projectsIn(folder: string, files: Files): Promise<Workspace[]> {
  const place = join(folder, projectsFolder);
  if ((await files.kind(place)) !== 'folder')
    fail('USE_FOLDER_MISSING', `the folder has no folder ${projectsFolder}`, {
      at: { file: folder },
      hint: `each project in a folder of its own below ${projectsFolder}`,
    });
  const found = (await files.list(place)).flatMap((path): Workspace[] => {
    const [own, file, ...deeper] = path.split('/');
    if (file !== projectFile || deeper.length > 0) return [];
    return [{ name: nameOf(own!), path: `${projectsFolder}/${own!}` }];
  });
  if (found.length === 0)
    fail('PROJECT_MISSING', `no folder has a ${projectFile}`, {
      at: { file: place },
      hint: '`stillmark init` writes one',
    });
  for (const [i, { name, path }] of found.entries()) {
    if (name === overview)
      fail('PROJECT_DUPLICATE', `${path} would be published where the page over all projects stands`, {
        at: { file: folder },
        hint: `a folder of another name than ${overview}`,
      });
    const other = found.slice(0, i).find((before) => before.name === name);
    if (other)
      fail('PROJECT_DUPLICATE', `${other.path} and ${path} would both be called ${name}`, {
        at: { file: folder },
        hint: 'folders whose names differ in letters of the Latin alphabet or digits',
      });
  }
  return found;
}

/** What npm takes for a name: small letters, digits, hyphens, underscores and points. */
function nameOf(folder: string): string {
  const name = folder
    .toLowerCase()
    .replaceAll(/[^a-z0-9_.-]+/g, '-')
    .replace(/^[^a-z0-9]+/, '');
  return name === '' ? 'project' : name;
}

async function openAt(folder: string, path: string, files: Files): Promise<ProjectFolder> {
  try {
    return await openProject(join(folder, path), files);
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    // Of many projects a problem must say of which it is.
    throw new ProblemError(
      error.problems.map((p) =>
        p.at?.file === projectFile ? { ...p, at: { ...p.at, file: `${path}/${projectFile}` } } : p,
      ),
    );
  }
}

/** Of a link to a file Turborepo sees where it leads, and not what stands there. */
async function unseenLinks(opened: ProjectFolder, path: string, files: Files): Promise<Problem[]> {
  const { outline, plan, words } = opened.project;
  const drawn = [outline, words].filter((file) => file !== undefined);
  const orbits = await filesOf(opened, { files: plan?.sky?.orbits ?? [], what: 'orbits' }, files);
  const links: string[] = [];
  for (const file of [...drawn, ...(await backgroundFiles(opened, files)), ...orbits.paths])
    if ((await files.readLink(join(opened.folder, file))) !== undefined) links.push(file);
  return links.map((file) =>
    warning('INPUT_PLACE', 'the file is a link: a change of what it leads to would not be seen', {
      at: { file: `${path}/${file}` },
      hint: 'the file itself in the project folder',
    }),
  );
}

const json = (value: unknown): string => `${JSON.stringify(value, undefined, 2)}\n`;

const rootPackage = {
  private: true,
  packageManager: 'npm@11.0.0',
  workspaces: [`${projectsFolder}/*`],
  scripts: {
    ingest: 'turbo run ingest --continue=always',
    snapshot: 'turbo run snapshot --continue=always',
    publish: 'turbo run publish --continue=dependencies-successful',
    overview: `stillmark portfolio public/*/latest --out public/${overview}`,
  },
};

const tasks = {
  $schema: 'https://turborepo.com/schema.json',
  // One snapshot keeps all processors busy.
  concurrency: '1',
  // The version of the command stands there.
  globalDependencies: ['package-lock.json'],
  tasks: {
    ingest: { cache: false },
    fresh: { cache: false, inputs: ['package.json'] },
    snapshot: {
      dependsOn: ['fresh'],
      inputs: [
        '**',
        ...[
          `${siteFolder}/**`,
          `.${siteFolder}.*`,
          `.${siteFolder}.*/**`,
          `${storeFolder}/computed/**`,
          `${storeFolder}/rejects/**`,
          `${storeFolder}/deliveries.json`,
          `${storeFolder}/remote.json`,
          `${storeFolder}/incoming/**`,
          `${storeFolder}/set-aside/**`,
          `${storeFolder}/*.lock*`,
          '**/*.partial',
          '.turbo/**',
          'node_modules/**',
        ].map((path) => `!${path}`),
      ],
      outputs: [`${siteFolder}/**`],
    },
    publish: { dependsOn: ['snapshot'], cache: false },
  },
};

const ignored = `node_modules
.turbo
/public
/${projectsFolder}/*/${siteFolder}
/${projectsFolder}/*/.${siteFolder}.*
/${projectsFolder}/*/${storeFolder}
`;

const projectPackage = (name: string): object => ({
  name,
  private: true,
  scripts: {
    ingest: 'stillmark ingest .',
    // Turborepo unpacks over what stands there, and takes nothing of it away.
    fresh: `rm -rf ${siteFolder}`,
    snapshot: `stillmark snapshot . --out ${siteFolder}`,
    publish: `mkdir -p ../../public && stillmark publish ${siteFolder} --to ../../public/${name} --keep-days 90`,
  },
});
