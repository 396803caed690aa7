/** What is looked at of a node of a JSON Schema (2020-12). */
export interface SchemaNode {
  readonly type?: string;
  readonly title?: string;
  readonly description?: string;
  readonly default?: unknown;
  readonly examples?: readonly unknown[];
  readonly enum?: readonly unknown[];
  readonly const?: unknown;
  readonly minimum?: number;
  readonly exclusiveMinimum?: number;
  readonly maximum?: number;
  readonly exclusiveMaximum?: number;
  readonly maxLength?: number;
  readonly minItems?: number;
  readonly maxItems?: number;
  readonly items?: SchemaNode | false;
  readonly prefixItems?: readonly SchemaNode[];
  readonly oneOf?: readonly SchemaNode[];
  readonly properties?: Readonly<Record<string, SchemaNode>>;
  readonly required?: readonly string[];
  readonly additionalProperties?: SchemaNode | false;
}

/** A key of a file, as a table tells it: Markdown but for `path`. */
export interface KeyRow {
  /** `stations[].position.latitude`: brackets for each entry of a list. */
  readonly path: string;
  readonly value: string;
  readonly given: string;
  readonly says: string;
}

/** Longest text of all that a person writes; told where a text must be shorter. */
const usualText = 2000;

/**
 * A row for a key and for each key below it, in the order of the schema.
 *
 * @param required whether the key must be given where what holds it is
 */
export function rowsOf(node: SchemaNode, path: string, required: boolean): KeyRow[] {
  const row = { path, value: valueOf(node), given: givenOf(node, required), says: node.description ?? '' };
  return [row, ...rowsBelow(node, path)];
}

function rowsBelow(node: SchemaNode, path: string): KeyRow[] {
  const { items, oneOf } = node;
  if (items) return rowsBelow(items, `${path}[]`);
  if (oneOf) return oneOf.flatMap((variant) => rowsOfVariant(variant, path));
  return Object.entries(node.properties ?? {}).flatMap(([key, below]) =>
    rowsOf(below, `${path}.${key}`, node.required?.includes(key) === true),
  );
}

/** Of one of several shapes: the key that says which it is, and of the others with which they go. */
function rowsOfVariant(variant: SchemaNode, path: string): KeyRow[] {
  const mark = Object.entries(variant.properties ?? {}).find(([, { const: own }]) => own !== undefined);
  return rowsBelow(variant, path).map((row) =>
    !mark || row.path === `${path}.${mark[0]}`
      ? row
      : { ...row, says: `With \`${mark[0]}: ${text(mark[1].const)}\`. ${row.says}` },
  );
}

function givenOf(node: SchemaNode, required: boolean): string {
  if (required) return 'yes';
  const isEmpty = node.default === undefined || ['{}', '[]'].includes(JSON.stringify(node.default));
  return isEmpty ? 'no' : `no: \`${text(node.default)}\``;
}

function valueOf(node: SchemaNode): string {
  if (node.const !== undefined) return `\`${text(node.const)}\``;
  if (node.enum) return alternatives(node.enum);
  if (node.type === 'array' && node.title === undefined) return listOf(node);
  if (node.type === 'object' || node.oneOf) return node.additionalProperties ? 'a text by station' : 'keys';
  const parts = [node.title ?? plainType(node.type), rangeOf(node)];
  if (node.maxLength !== undefined && node.maxLength < usualText && !/\d/.test(node.title ?? ''))
    parts.push(`at most ${node.maxLength} characters`);
  const example = node.examples?.[0];
  if (example !== undefined) parts.push(`such as \`${text(example)}\``);
  return parts.filter((part) => part !== '').join(', ');
}

function listOf({ items, prefixItems, minItems = 0, maxItems }: SchemaNode): string {
  if (prefixItems) return `[${prefixItems.map(valueOf).join('; ')}]`;
  const what = items && !items.properties && !items.oneOf ? ` of ${valueOf(items)}` : '';
  const least = minItems > 0 ? `, at least ${minItems}` : '';
  return `list${what}${least}${maxItems === undefined ? '' : `, at most ${maxItems}`}`;
}

const plainTypes: Readonly<Record<string, string>> = {
  string: 'text',
  integer: 'whole number',
  boolean: '`true` or `false`',
};
const plainType = (type = ''): string => plainTypes[type] ?? type;

/** The safe integers are those that a file can hold at all. */
function rangeOf({ minimum, exclusiveMinimum, maximum, exclusiveMaximum }: SchemaNode): string {
  const most = maximum !== undefined && maximum < Number.MAX_SAFE_INTEGER ? `at most ${maximum}` : '';
  const parts = [
    minimum !== undefined && minimum > -Number.MAX_SAFE_INTEGER ? `at least ${minimum}` : '',
    exclusiveMinimum === undefined ? '' : `more than ${exclusiveMinimum}`,
    most,
    exclusiveMaximum === undefined ? '' : `less than ${exclusiveMaximum}`,
  ];
  return parts.filter((part) => part !== '').join(', ');
}

function alternatives(values: readonly unknown[]): string {
  const quoted = values.map((value) => `\`${text(value)}\``);
  return quoted.length < 2 ? quoted.join('') : `${quoted.slice(0, -1).join(', ')} or ${quoted.at(-1)}`;
}

/** As YAML takes it, in one line. */
function text(value: unknown): string {
  if (Array.isArray(value)) return `[${value.map(text).join(', ')}]`;
  return typeof value === 'string' ? value : JSON.stringify(value);
}
