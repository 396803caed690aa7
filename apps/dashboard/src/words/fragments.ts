import { trimmed } from '@stillmark/words';
import { runsOf } from './astro-messages.ts';
import { hasWords, isNode, textOf, walk, type Node } from './syntax.ts';

/** A piece of a sentence that a translation cannot put right, by its place in the source. */
export interface FoundFragment {
  readonly line: number;
  readonly kind: keyof typeof faults;
  /** What is wrong, and what would be right. */
  readonly fault: string;
  readonly code: string;
}

const faults = {
  glued:
    'begins or ends as a piece of a sentence that stands elsewhere: make one message of the whole sentence for each of its forms',
  nested:
    'stands in a place of another message, whose order and forms it then shares: make one message of the whole sentence for each of its forms',
  counted: 'is chosen by a number as in English: give `plural` both forms',
  listed: 'is a list strung together as in English: use `list`, `commas` or `semicolons` of the wording',
  composed:
    'is put together by code, so that a translation cannot order it: make one message of it, or sentences of a `paragraph`',
};

/**
 * Sentences that are put together of fragments, as far as that can be told from the source: from what messages begin and end with, from
 * what stands in their places, and from what chooses between them. What a constant holds or a function gives back is not followed: whole
 * clauses and names may well stand in a place.
 *
 * @param program of a script, or of a page with its markup
 */
export function fragmentsOf(program: Node, source: string): FoundFragment[] {
  const found: FoundFragment[] = [];
  /** Templates of tags, which are looked at with these. */
  const templates = new Set<unknown>();
  const add = (node: Node, kind: FoundFragment['kind']): void => {
    found.push({
      line: source.slice(0, node.start).split('\n').length,
      kind,
      fault: faults[kind],
      code: source.slice(node.start, node.end).replace(/\s+/g, ' '),
    });
  };
  walk(program, (node) => {
    switch (node.type) {
      case 'TaggedTemplateExpression': {
        templates.add(node['quasi']);
        if (!isMessage(node)) break;
        if (isGlued(messageOf(node))) add(node, 'glued');
        for (const place of placesOf(node['quasi'] as Node))
          for (const inner of messagesIn(place)) add(inner, 'nested');
        break;
      }
      case 'TemplateLiteral': {
        if (templates.has(node)) break;
        const between = (node['quasis'] as { value: { cooked: string } }[]).map(({ value }) => value.cooked);
        const words = between.some((text) => /[,;:]|\p{L}{2}/u.test(text));
        if (words && placesOf(node).some((place) => messagesIn(place).length > 0)) add(node, 'composed');
        break;
      }
      case 'ConditionalExpression':
        if (asksForOne(node['test'] as Node) && saysWords(node) && !hasPlural(node)) add(node, 'counted');
        break;
      case 'JSXElement':
      case 'JSXFragment':
      case 'AstroRoot':
        for (const run of runsOf((node['children'] ?? node['body']) as Node[]))
          if (
            Array.isArray(run) &&
            run.some((one) => one.type === 'JSXText' && hasWords(one['raw'] as string))
          )
            for (const inner of run.flatMap((one) => messagesIn(one['expression'])))
              if (!isWhole(trimmed(messageOf(inner)))) add(inner, 'nested');
        break;
      case 'CallExpression': {
        const callee = node['callee'] as Node;
        const between = textOf((node['arguments'] as Node[])[0]);
        const joins = callee.type === 'MemberExpression' && (callee['property'] as Node)['name'] === 'join';
        if (joins && between !== undefined && /^[,;] |^ \p{L}+ $/u.test(between)) add(node, 'listed');
      }
    }
  });
  return found;
}

/** A message that is said where it stands: `t`, `msg`, and tags with a context. */
function isMessage({ type, tag }: Node): boolean {
  if (type !== 'TaggedTemplateExpression' || !isNode(tag)) return false;
  return tag.type === 'Identifier' && /^(?:t|msg)$/.test(tag['name'] as string);
}

/** The text of a message, with a sign for each place. */
function messageOf(node: Node): string {
  const quasis = (node['quasi'] as Node)['quasis'] as { value: { cooked: string } }[];
  return quasis.map(({ value }) => value.cooked).join('{}');
}

const placesOf = (template: Node): Node[] => template['expressions'] as Node[];

/** A comma, a bracket that another piece opens, or a space, but for the space beside a whole sentence. */
function isGlued(message: string): boolean {
  const own = trimmed(message);
  if (/^[,;:.)]|[,;(]$/.test(own)) return true;
  return own !== message && !isWhole(own);
}

const isWhole = (message: string): boolean => /^[\p{Lu}{]/u.test(message) && /[.?!:]$/.test(message);

/** Messages that an expression gives as they are, whatever it depends on. */
function messagesIn(node: unknown): Node[] {
  if (!isNode(node)) return [];
  if (isMessage(node)) return [node];
  const parts: Readonly<Record<string, readonly string[]>> = {
    ConditionalExpression: ['consequent', 'alternate'],
    LogicalExpression: ['left', 'right'],
    ParenthesizedExpression: ['expression'],
  };
  return (parts[node.type] ?? []).flatMap((part) => messagesIn(node[part]));
}

/** `n === 1`, `list.length > 1` and what else asks whether there is one alone. */
function asksForOne(test: Node): boolean {
  if (test.type !== 'BinaryExpression') return false;
  const [left, right] = [test['left'] as Node, test['right'] as Node];
  const [operator, value] = [test['operator'] as string, right['value']];
  if (/^[!=]==?$/.test(operator)) return value === 1;
  const ofList = left.type === 'MemberExpression' && (left['property'] as Node)['name'] === 'length';
  return ofList && (value === 1 ? /^(?:>|<=)$/ : /^(?:>=|<)$/).test(operator) && (value === 1 || value === 2);
}

function saysWords(node: Node): boolean {
  let says = false;
  for (const branch of [node['consequent'], node['alternate']] as Node[])
    walk(branch, (inner) => {
      const text = isMessage(inner) ? messageOf(inner) : textOf(inner);
      if (text !== undefined && (hasWords(text) || /^s$/.test(text))) says = true;
    });
  return says;
}

function hasPlural(node: Node): boolean {
  let has = false;
  walk(node, (inner) => {
    const callee = inner.type === 'CallExpression' ? (inner['callee'] as Node) : undefined;
    if (callee?.type === 'Identifier' && /^(?:plural|count)$/.test(callee['name'] as string)) has = true;
  });
  return has;
}
