import type { Problem } from '@stillmark/problems';
import { z } from 'zod';
import { crossCheck } from './checks.ts';
import { explainAll } from './explain.ts';
import { parseLocated } from './locate.ts';
import { projectSchema, type Project } from './schema.ts';

/** A value where it could be read, and every problem found on the way. */
export interface Read<T> {
  readonly value?: T;
  readonly problems: readonly Problem[];
}

/** Reads and checks the text of `project.yaml`. All problems are reported at once. */
export function readProject(text: string, file = 'project.yaml'): Read<Project> {
  const yaml = parseLocated(text, file);
  const problems = explainAll(yaml, projectSchema);
  if (problems.length > 0) return { problems };
  const value = projectSchema.parse(yaml.document.toJS());
  const crossed = crossCheck(value, yaml);
  return crossed.length > 0 ? { problems: crossed } : { value, problems: [] };
}

/** JSON Schema (2020-12) of the project file, for editors. */
export function projectJsonSchema(): Record<string, unknown> {
  return z.toJSONSchema(projectSchema, { io: 'input' }) as Record<string, unknown>;
}
