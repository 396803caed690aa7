import { createHash } from 'node:crypto';
import { defaultTreeAdapter as tree, html as names, parse, serialize } from 'parse5';
import { roomForFaces } from '../model/fonts.ts';
import { attribute, elementsIn, find } from './one-document.ts';

/**
 * A page with its style, script and fonts in it, to be mailed: nothing is fetched, and the policy allows exactly what is written into it, by its hash. Links
 * to other pages lead to the address of the site, or are text where none is given.
 *
 * @param assets files of the site by path
 * @param address where the site stands, such as `https://example.org/dam/`
 */
export function asSingleFile(
  page: string,
  assets: ReadonlyMap<string, Uint8Array>,
  address: string | undefined,
): string {
  const document = parse(page);
  const text = (path: string): string => {
    const bytes = assets.get(path);
    if (!bytes) throw new Error(`the site has no ${path}`);
    return new TextDecoder().decode(bytes);
  };
  const hashes: Record<'style' | 'script', string[]> = { style: [], script: [] };
  const scriptOf = (content: string): ReturnType<typeof tree.createElement> => {
    const element = tree.createElement('script', names.NS.HTML, []);
    tree.insertText(element, content);
    hashes.script.push(hashOf(content));
    return element;
  };
  const body = find(document, (e) => e.tagName === 'body')!;
  /** The image under the map stands in the first drawing with it, and the others show it from there. */
  const shown = new Map<string, string>();
  for (const element of elementsIn(document)) {
    const href = attribute(element, 'href');
    if (element.tagName === 'image') {
      const first = shown.get(href!);
      const own = element.attrs.find(({ name }) => name === 'href')!;
      if (first === undefined) {
        shown.set(href!, attribute(element, 'id')!);
        own.value = dataAddress(href!, assets);
      } else {
        element.nodeName = element.tagName = 'use';
        element.attrs = [{ name: 'href', value: `#${first}` }];
      }
      continue;
    }
    if (element.tagName === 'style') {
      const [content] = element.childNodes;
      if (content && tree.isTextNode(content)) {
        content.value = withFonts(content.value, assets);
        hashes.style.push(hashOf(content.value));
      }
      continue;
    }
    if (element.tagName === 'link' && attribute(element, 'rel') === 'alternate') tree.detachNode(element);
    else if (element.tagName === 'nav' && address === undefined) tree.detachNode(element);
    else if (attribute(element, 'data-find') !== undefined && address !== undefined)
      element.attrs.find(({ name }) => name === 'data-find')!.value = new URL('stations/', address).href;
    else if (element.tagName === 'script') {
      // A classic script that was put off until the page is read stands at its end.
      tree.appendChild(body, scriptOf(text(attribute(element, 'src')!)));
      tree.detachNode(element);
    } else if (element.tagName === 'a' && href !== undefined && !href.startsWith('#')) {
      if (address === undefined) {
        element.attrs = element.attrs.filter(({ name }) => name !== 'href');
      } else {
        element.attrs.find(({ name }) => name === 'href')!.value = new URL(href, address).href;
        // On paper the address of the site stands once, and not behind each of its links.
        element.attrs.push({ name: 'data-site', value: '' });
      }
    }
  }
  if (address !== undefined)
    find(document, (e) => attribute(e, 'class') === 'colophon')!.attrs.push({
      name: 'data-address',
      value: address,
    });
  const policy = find(document, (e) => attribute(e, 'http-equiv') === 'Content-Security-Policy')!;
  policy.attrs.find(({ name }) => name === 'content')!.value = [
    "default-src 'none'",
    `script-src ${hashes.script.join(' ')}`,
    `style-src ${hashes.style.join(' ')}`,
    'img-src data:',
    'font-src data:',
    "base-uri 'none'",
    "form-action 'none'",
  ].join('; ');
  return serialize(document);
}

const mimes: Readonly<Record<string, string>> = { png: 'image/png', jpg: 'image/jpeg', webp: 'image/webp' };

function dataAddress(path: string, assets: ReadonlyMap<string, Uint8Array>): string {
  const bytes = assets.get(path);
  const mime = mimes[path.slice(path.lastIndexOf('.') + 1)];
  if (!bytes || mime === undefined) throw new Error(`the site has no image ${path}`);
  return `data:${mime};base64,${Buffer.from(bytes).toString('base64')}`;
}

const hashOf = (content: string): string =>
  `'sha256-${createHash('sha256').update(content).digest('base64')}'`;

function withFonts(css: string, assets: ReadonlyMap<string, Uint8Array>): string {
  // What is in the file is at hand on a phone too.
  return css
    .replace(roomForFaces, '@media all')
    .replaceAll(/url\(assets\/([\w.-]+\.woff2)\)/g, (whole, name: string) => {
      const bytes = assets.get(`assets/${name}`);
      return bytes ? `url(data:font/woff2;base64,${Buffer.from(bytes).toString('base64')})` : whole;
    });
}
