import { workspaces, type Effects, type WorkspacesResult } from '@stillmark/pipeline';
import type { Problem } from '@stillmark/problems';

export const workspacesDetails = `DIR/projects holds the projects, each in a folder of its own. Writes what npm and
Turborepo need to compute each of them only where something it rests on has changed
(DIR/package.json, DIR/turbo.json, DIR/.gitignore and a package.json in each project),
and nothing over what is there. Again after a project was added.`;

export async function workspacesWork(
  folder: string,
  effects: Effects,
): Promise<{ lines: string[]; data: WorkspacesResult; problems: readonly Problem[] }> {
  const result = await workspaces(folder, effects);
  const { projects, written, kept, problems } = result;
  return {
    lines: [
      ...written.map((path) => `written ${path}`),
      ...kept.map((path) => `kept ${path}`),
      `${projects.length} ${projects.length === 1 ? 'project' : 'projects'}: ${projects.join(', ')}`,
    ],
    data: result,
    problems,
  };
}
