/** A node of a syntax tree as the parsers give it: ESTree with JSX, and nodes of Astro. Places are of UTF-16 in the source. */
export interface Node {
  readonly type: string;
  readonly start: number;
  readonly end: number;
  readonly [key: string]: unknown;
}

export const isNode = (value: unknown): value is Node =>
  typeof value === 'object' && value !== null && typeof (value as Node).type === 'string';

/** What a node holds directly, in the order of the source. */
export function childrenOf(node: Node): Node[] {
  return Object.values(node)
    .flatMap((value) => (Array.isArray(value) ? value.filter(isNode) : isNode(value) ? [value] : []))
    .sort((a, b) => a.start - b.start);
}

/** A node and everything in it; where `enter` says false nothing further of that node. */
export function walk(node: Node, enter: (node: Node) => boolean | void): void {
  if (enter(node) === false) return;
  for (const child of childrenOf(node)) walk(child, enter);
}

/** Units and signs that are written alike in every language: SI brochure (9th edition, 2019), section 5. */
const symbols = /(?<!\p{L})(?:mm|cm|km|min|dB|Wh|Hz|UTC)(?!\p{L})/gu;

/** Whether a text has words in it that may be translated. */
export function hasWords(text: string): boolean {
  return /\p{L}{2,}/u.test(text.replace(symbols, ''));
}

/** The text of a string, or of a template without places; undefined of everything else. */
export function textOf(node: unknown): string | undefined {
  if (!isNode(node)) return undefined;
  if (node.type === 'Literal' && typeof node['value'] === 'string') return node['value'];
  if (node.type !== 'TemplateLiteral') return undefined;
  const quasis = node['quasis'] as { value: { cooked: string } }[];
  return quasis.length === 1 ? quasis[0]!.value.cooked : undefined;
}
