import { readdir, readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import type { SiteMessage } from '@stillmark/records';
import { keyOf } from '@stillmark/words';
import { parseSync } from 'vite';
import { speakAstro, treeOf } from './astro-messages.ts';
import { messagesOfCode, type FoundMessage } from './code-messages.ts';
import { fragmentsOf } from './fragments.ts';
import type { Node } from './syntax.ts';

const top = fileURLToPath(new URL('../../../../', import.meta.url));

/** Folders whose sources say something on a site, in the order in which their messages stand. */
const folders = ['packages/words/src', 'packages/wording/src', 'packages/charts/src', 'apps/dashboard/src'];

/** What scripts of pages are built from. */
const inBrowser =
  /^(?:packages\/(?:words|charts)\/|packages\/wording\/src\/(?:numbers|times)\.ts|apps\/dashboard\/src\/browser\/)/;

/** What commands print, which stays English, and what browsers are told: neither is read on a page. */
const offPages =
  /^packages\/words\/src\/markup\.ts$|^packages\/wording\/src\/(?:archive|bench|machine)\.ts$|^apps\/dashboard\/src\/(?:renderer\/|layouts\/Head\.astro$)/;

/** Sources that say something on a site, by their paths. */
async function siteSources(): Promise<{ readonly where: string; readonly source: string }[]> {
  const out: { where: string; source: string }[] = [];
  for (const folder of folders) {
    const files = (await readdir(`${top}${folder}`, { recursive: true }))
      .map((f) => f.replaceAll('\\', '/'))
      .sort();
    for (const file of files) {
      if (!/\.(?:ts|astro)$/.test(file) || file.endsWith('.test.ts') || file.startsWith('words/')) continue;
      const where = `${folder}/${file}`;
      out.push({ where, source: await readFile(`${top}${where}`, 'utf8') });
    }
  }
  return out;
}

/** Every message of the site, from the sources; each once. */
export async function siteMessages(): Promise<SiteMessage[]> {
  const all = new Map<string, SiteMessage>();
  for (const { where, source } of await siteSources())
    for (const message of messagesOf(where, source)) {
      const key = keyOf(message.id, message.context);
      const known = all.get(key);
      // What is counted somewhere is told for other numbers than one too.
      all.set(key, {
        ...message,
        ...(known?.plural === undefined ? {} : { plural: known.plural }),
        places: known?.places ?? message.places,
        where: [...new Set([...(known?.where ?? []), where])],
      });
    }
  return [...all.values()];
}

/** Sentences of pages that are put together of fragments, with their places; see {@link fragmentsOf}. */
export async function siteFragments(): Promise<string[]> {
  return (await siteSources())
    .filter(({ where }) => !offPages.test(where))
    .flatMap(({ where, source }) =>
      fragmentsOf(programOf(where, source), source).map(
        ({ line, fault, code }) => `${where}:${line}: ${code} ${fault}`,
      ),
    );
}

function programOf(path: string, source: string): Node {
  return path.endsWith('.astro') ? treeOf(source) : (parseSync(path, source).program as unknown as Node);
}

function messagesOf(path: string, source: string): readonly FoundMessage[] {
  if (path.endsWith('.astro')) return speakAstro(source, 'say').messages;
  return messagesOfCode(programOf(path, source), source);
}

/** Keys of the messages that scripts say in the browser. */
export function browserKeys(messages: readonly SiteMessage[]): string[] {
  return messages
    .filter(({ where }) => where.some((path) => inBrowser.test(path)))
    .map(({ id, context }) => keyOf(id, context));
}
