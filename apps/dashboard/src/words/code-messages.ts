import { idOf, trimmed } from '@stillmark/words';
import { isNode, textOf, walk, type Node } from './syntax.ts';

/** A message that was found in a source. */
export interface FoundMessage {
  readonly id: string;
  readonly plural?: string;
  readonly context?: string;
  readonly places: readonly string[];
}

const nameOf = (node: unknown): string | undefined =>
  isNode(node) && node.type === 'Identifier' ? (node['name'] as string) : undefined;

/** Messages of code: what the functions of `@stillmark/words` and `count` of the wording are given. */
export function messagesOfCode(program: Node, source: string): FoundMessage[] {
  const found: FoundMessage[] = [];
  const declared = declarationsOf(program);

  const templateOf = (node: Node): { id: string; places: string[] } => {
    const quasi = node['quasi'] as Node;
    const quasis = quasi['quasis'] as { value: { cooked: string } }[];
    return {
      id: trimmed(idOf(quasis.map(({ value }) => value.cooked))),
      places: (quasi['expressions'] as Node[]).map((e) => shortened(source.slice(e.start, e.end))),
    };
  };
  /** Undefined where a tag is none of ours, null where it has no context. */
  const contextOf = (tag: unknown): string | null | undefined => {
    const name = nameOf(tag);
    if (name === 't') return null;
    const call = name === undefined ? tag : declared.get(name);
    if (!isNode(call) || call.type !== 'CallExpression' || nameOf(call['callee']) !== 'inContext')
      return undefined;
    return textOf((call['arguments'] as Node[])[0]);
  };
  const names = (node: unknown, context: string | undefined): void => {
    const text = textOf(node);
    if (text !== undefined && text !== '')
      found.push({ id: text, ...(context === undefined ? {} : { context }), places: [] });
    if (!isNode(node)) return;
    if (node.type === 'ObjectExpression')
      for (const property of node['properties'] as Node[]) names(property['value'], context);
    if (node.type === 'ArrayExpression') for (const item of node['elements'] as Node[]) names(item, context);
    const name = nameOf(node);
    if (name !== undefined) names(declared.get(name), context);
  };

  walk(program, (node) => {
    if (node.type === 'TaggedTemplateExpression') {
      const context = contextOf(node['tag']);
      if (context !== undefined)
        found.push({ ...templateOf(node), ...(context === null ? {} : { context }) });
    }
    if (node.type !== 'CallExpression') return;
    const args = node['arguments'] as Node[];
    switch (nameOf(node['callee'])) {
      case 'plural': {
        // What `count` itself is made of has no template; its callers are found below.
        if (args.slice(1).some(({ type }) => type !== 'TaggedTemplateExpression')) break;
        const [one, many] = [templateOf(args[1]!), templateOf(args[2]!)];
        found.push({ ...many, id: one.id, plural: many.id });
        break;
      }
      case 'count': {
        if (args.length < 2) break;
        const one = textOf(args[1]);
        const many = args[2] === undefined ? `${one}s` : textOf(args[2]);
        if (one === undefined || many === undefined)
          throw new Error(
            `count is given a name that is not written out: ${source.slice(node.start, node.end)}`,
          );
        found.push({ id: `{0} ${one}`, plural: `{0} ${many}`, places: ['number'] });
        break;
      }
      case 'translated':
        names(args[0], textOf(args[1]));
    }
  });
  return found;
}

/** What names of a source stand for. */
function declarationsOf(program: Node): Map<string, Node> {
  const out = new Map<string, Node>();
  walk(program, (node) => {
    const name = node.type === 'VariableDeclarator' ? nameOf(node['id']) : undefined;
    if (name !== undefined && isNode(node['init'])) out.set(name, unwrapped(node['init']));
  });
  return out;
}

function unwrapped(node: Node): Node {
  const inner = node['expression'];
  return (node.type === 'TSAsExpression' || node.type === 'TSSatisfiesExpression') && isNode(inner)
    ? unwrapped(inner)
    : node;
}

/** Source of what is filled in, as a note for who translates. */
export function shortened(code: string): string {
  const line = code.replace(/\s+/g, ' ').trim();
  return line.length <= 60 ? line : `${line.slice(0, 57)}…`;
}
