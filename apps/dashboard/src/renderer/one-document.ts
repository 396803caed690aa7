import {
  defaultTreeAdapter as tree,
  html as names,
  parse,
  serialize,
  type DefaultTreeAdapterTypes,
} from 'parse5';

type Element = DefaultTreeAdapterTypes.Element;
type Node = DefaultTreeAdapterTypes.Node;

/** A page of the site as it stands in a document of all pages. */
export interface Part {
  /** Path of the page, such as `stations/T07.html`. */
  readonly path: string;
  readonly html: string;
}

/** What is of no use on paper, and what only those look for who have the site. */
const dropped = ['breadcrumb', 'neighbours', 'zoom', 'readout', 'at-narrow', 'on-site'];
const pushed = ['at-wide', 'table-wide'];
const references = new Set(['aria-labelledby', 'aria-describedby', 'for', 'list', 'headers']);

/** Identity of a page within the document. */
export function partId(path: string): string {
  return `part-${path.replace(/\.html$/, '').replaceAll(/[^A-Za-z0-9-]/g, '-')}`;
}

/**
 * Puts the contents of pages into the element with the id `parts` of a page: ids are made those of one document, links between the pages lead within it,
 * headings stand one level lower.
 */
export function inOneDocument(frame: string, parts: readonly Part[]): string {
  const document = parse(frame);
  const place = find(document, (e) => attribute(e, 'id') === 'parts');
  if (!place) throw new Error('the page has no place for parts');
  const paths = new Set(parts.map(({ path }) => path));
  for (const part of parts) {
    const main = find(parse(part.html), (e) => e.tagName === 'main');
    if (!main) throw new Error(`${part.path} has no contents`);
    const article = tree.createElement('article', names.NS.HTML, [
      { name: 'id', value: partId(part.path) },
      { name: 'class', value: 'part' },
    ]);
    for (const child of main.childNodes.slice()) {
      tree.detachNode(child);
      tree.appendChild(article, child);
    }
    adapt(article, part.path, paths);
    tree.appendChild(place, article);
  }
  return serialize(document);
}

function adapt(article: Element, path: string, paths: ReadonlySet<string>): void {
  const prefix = `${partId(path)}--`;
  const own = (id: string): string => prefix + id;
  for (const element of elementsIn(article)) {
    if (element === article) continue;
    const classes = attribute(element, 'class')?.split(' ') ?? [];
    if (dropped.some((name) => classes.includes(name))) {
      tree.detachNode(element);
      continue;
    }
    const level = /^h([1-5])$/.exec(element.tagName)?.[1];
    if (level) element.nodeName = element.tagName = `h${Number(level) + 1}`;
    // Sections of many pages have the same names, and would be landmarks that nobody tells apart.
    const useless = new Set([
      'data-zoom',
      'data-multiples',
      'data-walk',
      ...(element.tagName === 'section' ? ['aria-labelledby'] : []),
    ]);
    element.attrs = element.attrs.filter(({ name }) => !useless.has(name));
    // What is pushed along on a phone can be reached by the keyboard.
    if (pushed.some((name) => classes.includes(name))) element.attrs.push({ name: 'tabindex', value: '0' });
    for (const attr of element.attrs) {
      if (attr.name === 'id') attr.value = own(attr.value);
      else if (references.has(attr.name)) attr.value = attr.value.split(/\s+/).map(own).join(' ');
      else if (attr.name === 'href') attr.value = hrefOf(attr.value, path, paths);
      else if (attr.value.includes('url(#')) attr.value = attr.value.replaceAll('url(#', `url(#${prefix}`);
    }
  }
}

/** A link of a page, as it leads from the document at the top of the site. */
function hrefOf(href: string, path: string, paths: ReadonlySet<string>): string {
  const base = new URL(path, 'http://site.invalid/');
  const target = new URL(href, base);
  if (target.origin !== base.origin) return href;
  const to = decodeURIComponent(target.pathname.slice(1)) || 'index.html';
  const id = target.hash.slice(1);
  if (paths.has(to)) return id === '' ? `#${partId(to)}` : `#${partId(to)}--${id}`;
  return `${to}${target.search}${target.hash}`;
}

/** All elements below and with a node, in the order of the document; taken before anything is changed. */
export function elementsIn(node: Node): Element[] {
  const found: Element[] = [];
  const visit = (n: Node): void => {
    if (tree.isElementNode(n)) found.push(n);
    if ('childNodes' in n) for (const child of n.childNodes) visit(child);
  };
  visit(node);
  return found;
}

export function attribute(element: Element, name: string): string | undefined {
  return element.attrs.find((a) => a.name === name)?.value;
}

export function find(node: Node, wanted: (element: Element) => boolean): Element | undefined {
  return elementsIn(node).find(wanted);
}
