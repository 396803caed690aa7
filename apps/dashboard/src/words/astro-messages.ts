import { parse } from '@astrojs/compiler-rs';
import { messagesOfCode, shortened, type FoundMessage } from './code-messages.ts';
import { childrenOf, hasWords, isNode, textOf, walk, type Node } from './syntax.ts';

/** Attributes that are read by people, of elements and of components. */
const readAttributes = /^(?:title|caption|description|stale|alt|placeholder|label|aria-label|data-label)$/;

/** Elements that a sentence goes through; everything else begins a new one. */
const inline = new Set([
  'a',
  'abbr',
  'b',
  'br',
  'cite',
  'code',
  'em',
  'i',
  'kbd',
  'q',
  'small',
  'span',
  'strong',
  'sub',
  'sup',
  'time',
  'var',
]);

/** A page or component whose text is looked up when it is drawn, and the messages that it has. */
export interface SpokenSource {
  readonly code: string;
  readonly messages: readonly FoundMessage[];
}

/**
 * Turns the text of a page or component into look-ups. A run of text and inline elements is one message: elements and expressions in it are
 * places that a translation may put elsewhere. English comes out as it went in, byte for byte, line breaks and all.
 *
 * @param sayFrom the module that has `say`
 */
export function speakAstro(source: string, sayFrom: string): SpokenSource {
  const ast = treeOf(source);
  const messages: FoundMessage[] = messagesOfCode(ast, source);
  const writer = new Writer(source, messages);
  const frontmatter = ast['frontmatter'];
  const lines = `import { say as $say } from ${JSON.stringify(sayFrom)};\nimport { t as $t } from '@stillmark/words';\n`;
  const body = writer.contentOf(ast['body'] as Node[]);
  const head = isNode(frontmatter) ? source.slice(3, frontmatter.end) : '\n---';
  const rest = source.slice(
    isNode(frontmatter) ? frontmatter.end : 0,
    (ast['body'] as Node[])[0]?.start ?? 0,
  );
  return { code: `---\n${lines}${head}${rest}${body}`, messages };
}

/** The syntax tree of a page or component, its script in it. */
export function treeOf(source: string): Node {
  const { ast, diagnostics } = parse(source) as unknown as {
    ast: Node;
    diagnostics?: { severity: string; text: string }[];
  };
  const fault = diagnostics?.find(({ severity }) => severity === 'error');
  if (fault) throw new Error(fault.text);
  return ast;
}

/** A piece of a run on its way into code. */
type Part =
  | { readonly raw: string; readonly text: string }
  | { readonly place: number; readonly inner?: readonly Part[] };

class Writer {
  readonly #source: string;
  readonly #messages: FoundMessage[];

  constructor(source: string, messages: FoundMessage[]) {
    this.#source = source;
    this.#messages = messages;
  }

  /** Source of a node with everything in it turned into look-ups. */
  of(node: Node): string {
    if (node.type === 'JSXElement') return this.#element(node);
    if (node.type === 'JSXFragment') return this.#around(node, this.contentOf(node['children'] as Node[]));
    if (node.type === 'JSXAttribute') return this.#attribute(node);
    return this.#spliced(node.start, node.end, childrenOf(node));
  }

  /** Content of an element or of the page: runs of text, and what stands between them. */
  contentOf(children: readonly Node[], tag = ''): string {
    return runsOf(children)
      .map((run) => (Array.isArray(run) ? this.#run(run, tag) : this.of(run)))
      .join('');
  }

  #run(run: readonly Node[], tag: string): string {
    if (!run.some((node) => node.type === 'JSXText' && hasWords(node['raw'] as string)))
      return run.map((node) => this.of(node)).join('');
    const places: string[] = [];
    const notes: string[] = [];
    const parts = run
      .map((node) => this.#part(node, places, notes))
      // Of what a component is given Astro leaves out lines that hold nothing.
      .filter((part) => !(/^[A-Z]/.test(tag) && 'raw' in part && /^\s*\n\s*$/.test(part.raw)));
    const id = textIn(parts)
      .replace(/[ \t\r\n]+/g, ' ')
      .trim();
    this.#messages.push({ id, places: notes });
    return `{$say(${JSON.stringify(id)}, [${pieces(parts)}], [${places.join(', ')}])}`;
  }

  #part(node: Node, places: string[], notes: string[]): Part {
    if (node.type === 'JSXText') return { raw: node['raw'] as string, text: node['raw'] as string };
    const literal = node.type === 'JSXExpressionContainer' ? textOf(node['expression']) : undefined;
    if (literal !== undefined) return { raw: escaped(literal), text: literal };
    const place = places.length;
    places.push('');
    notes.push('');
    const children = (node['children'] ?? []) as Node[];
    if (
      node.type === 'JSXElement' &&
      children.some((c) => c.type === 'JSXText' && hasWords(c['raw'] as string))
    ) {
      const inner = children.map((child) => this.#part(child, places, notes));
      places[place] = `($c) => ${this.#around(node, '{$c}')}`;
      notes[place] = `<${tagOf(node)}>`;
      return { place, inner };
    }
    const code = node.type === 'JSXExpressionContainer' ? this.of(node['expression'] as Node) : this.of(node);
    places[place] = `() => (${code})`;
    notes[place] = shortened(
      node.type === 'JSXExpressionContainer' ? this.#slice(node['expression'] as Node) : this.#slice(node),
    );
    return { place };
  }

  #element(node: Node): string {
    // What scripts and styles hold is no text.
    if (/^(?:script|style)$/.test(tagOf(node))) return this.#slice(node);
    return this.#around(node, this.contentOf((node['children'] ?? []) as Node[], tagOf(node)));
  }

  /** The tags of an element around other content. */
  #around(node: Node, content: string): string {
    const opening = (node['openingElement'] ?? node['openingFragment']) as Node;
    const closing = (node['closingElement'] ?? node['closingFragment']) as Node | null;
    const open = this.#spliced(opening.start, opening.end, childrenOf(opening));
    return closing ? `${open}${content}${this.#slice(closing)}` : open;
  }

  #attribute(node: Node): string {
    const name = (node['name'] as Node)['name'] as string;
    const text = textOf(node['value']);
    if (text === undefined || !readAttributes.test(name) || !hasWords(text) || /[&"]/.test(text))
      return this.#spliced(node.start, node.end, childrenOf(node));
    this.#messages.push({ id: text, places: [] });
    return `${name}={$t\`${text.replace(/[\\`]|\$\{/g, '\\$&')}\`}`;
  }

  /** A piece of the source, its nodes replaced by what they are turned into. */
  #spliced(start: number, end: number, nodes: readonly Node[]): string {
    let [out, at] = ['', start];
    for (const node of nodes) {
      if (node.start < at) continue;
      out += this.#source.slice(at, node.start) + this.of(node);
      at = node.end;
    }
    return out + this.#source.slice(at, end);
  }

  #slice({ start, end }: Node): string {
    return this.#source.slice(start, end);
  }
}

/** Runs of text, expressions and inline elements, each of which is one message where it has words, and the elements between them. */
export function runsOf(children: readonly Node[]): (Node | Node[])[] {
  const out: (Node | Node[])[] = [];
  for (const child of children) {
    const last = out.at(-1);
    const runs = child.type === 'JSXText' || child.type === 'JSXExpressionContainer' || isInline(child);
    if (!runs) out.push(child);
    else if (Array.isArray(last)) last.push(child);
    else out.push([child]);
  }
  return out;
}

function isInline(node: Node): boolean {
  if (node.type !== 'JSXElement') return false;
  if (/^[A-Z]/.test(tagOf(node)) && node['closingElement'] === null) return true;
  let all = inline.has(tagOf(node));
  walk(node, (inner) => {
    if (inner.type === 'JSXElement' && !inline.has(tagOf(inner))) all = false;
  });
  return all;
}

function tagOf(node: Node): string {
  const name = (node['openingElement'] as Node)['name'] as Node;
  return name.type === 'JSXIdentifier' || name.type === 'Identifier' ? (name['name'] as string) : '';
}

function textIn(parts: readonly Part[]): string {
  return parts
    .map((part) =>
      'text' in part
        ? part.text
        : part.inner
          ? `<${part.place}>${textIn(part.inner)}</${part.place}>`
          : `{${part.place}}`,
    )
    .join('');
}

function pieces(parts: readonly Part[]): string {
  return parts
    .map((part) =>
      'raw' in part
        ? JSON.stringify(part.raw)
        : part.inner
          ? `[${[part.place, ...(part.inner.length > 0 ? [pieces(part.inner)] : [])].join(', ')}]`
          : String(part.place),
    )
    .join(', ');
}

/** As Astro escapes a string that stands in braces. */
function escaped(text: string): string {
  const signs: Record<string, string> = {
    '&': '&amp;',
    '<': '&lt;',
    '>': '&gt;',
    '"': '&quot;',
    "'": '&#39;',
  };
  return text.replace(/[&<>"']/g, (c) => signs[c]!);
}
