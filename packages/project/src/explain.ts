import { listAllowed, problem, type Location, type Problem } from '@stillmark/problems';
import { closest, distance } from 'fastest-levenshtein';
import { globalRegistry, type z } from 'zod';
import type { LocatedYaml } from './locate.ts';

/** A value where it could be read, and every problem found on the way. */
export interface Read<T> {
  readonly value?: T;
  readonly problems: readonly Problem[];
}

/** Reads a YAML file by a schema; every problem at once: syntax first, and where that is sound, each value and key. */
export function readBySchema<S extends z.ZodType>(yaml: LocatedYaml, schema: S): Read<z.output<S>> {
  const syntax = [...yaml.document.errors].map((error) =>
    at(yaml, yaml.placeOf(error.pos[0]), (more) =>
      problem(
        error.code === 'DUPLICATE_KEY' ? 'PROJECT_DUPLICATE' : 'PROJECT_SYNTAX',
        syntaxMessage(error.code, error.message),
        more,
      ),
    ),
  );
  if (syntax.length > 0) return { problems: syntax };
  const { value, fault } = valueOf(yaml);
  if (fault !== undefined) {
    return { problems: [at(yaml, yaml.locate([]), (more) => problem('PROJECT_SYNTAX', fault, more))] };
  }
  const result = schema.safeParse(value ?? {}, { reportInput: true });
  if (result.success) return { value: result.data, problems: [] };
  return { problems: result.error.issues.flatMap((issue) => explain(yaml, issue, schema)) };
}

/** The plain value of a file; aliases that multiply without end (as a joke or an attack) are a fault of it. */
function valueOf({ document }: LocatedYaml): { value?: unknown; fault?: string } {
  try {
    return { value: document.toJS() };
  } catch (error) {
    return { fault: `its aliases cannot be resolved: ${(error as Error).message}` };
  }
}

function syntaxMessage(code: string, message: string): string {
  if (code === 'DUPLICATE_KEY') return 'this key stands twice in one mapping';
  if (code === 'TAB_AS_INDENT') return 'a tab is used to indent; YAML takes spaces only';
  return `not valid YAML: ${message.charAt(0).toLowerCase()}${message.slice(1)}`;
}

function explain(yaml: LocatedYaml, issue: z.core.$ZodIssue, schema: z.ZodType): Problem[] {
  const name = nameOf(issue.path);
  if (issue.code === 'unrecognized_keys') {
    const known = knownKeys(schema, issue.path);
    return issue.keys.map((key) => {
      const near = known.length > 0 ? closest(key, known) : undefined;
      const hint =
        near && distance(key, near) <= Math.max(2, key.length / 3)
          ? near
          : known.length > 0
            ? `one of ${known.join(', ')}`
            : undefined;
      return at(yaml, yaml.locateKey(issue.path, key), (more) =>
        problem('PROJECT_KEY', `${name === '' ? 'the project file' : name} has no key '${key}'`, {
          ...more,
          seen: key,
          ...(hint ? { hint } : {}),
        }),
      );
    });
  }
  return [
    at(yaml, yaml.locate(issue.path), (more) =>
      problem('PROJECT_VALUE', valueMessage(issue, name), { ...more, ...right(issue, schema) }),
    ),
  ];
}

function valueMessage(issue: z.core.$ZodIssue, name: string): string {
  const of = name === '' ? 'the file' : name;
  switch (issue.code) {
    case 'invalid_type':
      return issue.input === undefined ? `${of} is missing` : `${of} is not ${article(issue.expected)}`;
    case 'invalid_value':
      return issue.input === undefined ? `${of} is missing` : `${of} ${quote(issue.input)} is not known`;
    case 'too_small':
    case 'too_big':
      return issue.message.startsWith('Too')
        ? `${of} ${quote(issue.input)} is out of range`
        : `${of}: ${issue.message}`;
    default:
      return `${of}: ${issue.message}`;
  }
}

function right(
  issue: z.core.$ZodIssue,
  schema: z.ZodType,
): { hint?: string; allowed?: string[]; seen?: string } {
  const seen = isPlain(issue.input) ? { seen: String(issue.input) } : {};
  if (issue.code === 'invalid_value') return { ...seen, allowed: issue.values.map(String) };
  if (issue.code === 'too_small')
    return { ...seen, hint: `${issue.inclusive ? 'at least' : 'more than'} ${issue.minimum}` };
  if (issue.code === 'too_big')
    return { ...seen, hint: `${issue.inclusive ? 'at most' : 'less than'} ${issue.maximum}` };
  const examples = examplesAt(schema, issue.path);
  if (examples) return { ...seen, hint: `such as ${listAllowed(examples)}` };
  if (issue.code === 'invalid_type') return { ...seen, hint: article(issue.expected) };
  return seen;
}

const articles: Record<string, string> = {
  string: 'a text',
  number: 'a number',
  object: 'a mapping of keys and values',
  array: 'a list',
  boolean: 'true or false',
};

function article(expected: string): string {
  return articles[expected] ?? `a ${expected}`;
}

function isPlain(input: unknown): input is string | number | boolean {
  return ['string', 'number', 'boolean'].includes(typeof input);
}

function quote(input: unknown): string {
  return isPlain(input) ? `'${String(input)}'` : '';
}

/** stations[2].role as a person would say it: 'role of station 3'. */
function nameOf(path: readonly PropertyKey[]): string {
  const parts: string[] = [];
  path.forEach((part, i) => {
    if (typeof part === 'number') {
      const list = String(path[i - 1] ?? 'item');
      parts[parts.length - 1] = `${list.endsWith('s') ? list.slice(0, -1) : list} ${part + 1}`;
    } else parts.push(String(part));
  });
  return parts.reverse().join(' of ');
}

/** Keys of the object schema at a path. */
function knownKeys(schema: z.ZodType, path: readonly PropertyKey[]): string[] {
  return Object.keys(unwrapped(schemaAt(schema, path))?._zod.def.shape ?? {});
}

/** Examples that the schema at a path gives of itself. */
function examplesAt(schema: z.ZodType, path: readonly PropertyKey[]): string[] | undefined {
  for (let current = schemaAt(schema, path); current; current = current._zod.def.innerType) {
    const { examples } = globalRegistry.get(current as unknown as z.ZodType) ?? {};
    if (Array.isArray(examples)) return examples.map((e) => (typeof e === 'string' ? e : JSON.stringify(e)));
  }
  return undefined;
}

/** What is looked at of a schema's definition. */
interface SchemaNode {
  readonly _zod: {
    readonly def: {
      readonly innerType?: SchemaNode;
      readonly element?: SchemaNode;
      readonly shape?: Record<string, SchemaNode>;
    };
  };
}

function schemaAt(schema: z.ZodType, path: readonly PropertyKey[]): SchemaNode | undefined {
  let current: SchemaNode | undefined = schema as unknown as SchemaNode;
  for (const part of path) {
    const def: SchemaNode['_zod']['def'] | undefined = unwrapped(current)?._zod.def;
    current = typeof part === 'number' ? def?.element : def?.shape?.[String(part)];
  }
  return current;
}

/** The schema inside optional, default and the like. */
function unwrapped(schema: SchemaNode | undefined): SchemaNode | undefined {
  let current = schema;
  while (current?._zod.def.innerType) current = current._zod.def.innerType;
  return current;
}

/** Puts a place and its line of text into a problem. */
export function at(
  yaml: LocatedYaml,
  place: Location,
  make: (more: { at: Location; sourceLine?: string }) => Problem,
): Problem {
  const sourceLine = yaml.line(place.line);
  return make({ at: place, ...(sourceLine === undefined ? {} : { sourceLine }) });
}
