import { globalRegistry, z } from 'zod';
import { crossCheck } from './checks.ts';
import { readBySchema, type Read } from './explain.ts';
import { parseLocated } from './locate.ts';
import { projectSchema, type Project } from './schema.ts';

/** Reads and checks the text of `project.yaml`. All problems are reported at once. */
export function readProject(text: string, file = 'project.yaml'): Read<Project> {
  const yaml = parseLocated(text, file);
  const read = readBySchema(yaml, projectSchema);
  if (!read.value) return { problems: read.problems };
  const crossed = crossCheck(read.value, yaml);
  return crossed.length > 0 ? { problems: crossed } : read;
}

/** JSON Schema (2020-12) of the project file, for editors. */
export function projectJsonSchema(): Record<string, unknown> {
  return z.toJSONSchema(projectSchema, {
    io: 'input',
    // Left out by zod where text is read as a quantity, since they might be of what is read; ours are of what is written.
    override({ zodSchema, jsonSchema }) {
      const { examples } = globalRegistry.get(zodSchema as unknown as z.ZodType) ?? {};
      if (Array.isArray(examples)) jsonSchema.examples = examples;
    },
  }) as Record<string, unknown>;
}
