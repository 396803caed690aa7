import { readdir, readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import type { SiteMessage } from '@stillmark/records';
import { keyOf } from '@stillmark/words';
import { parseSync } from 'vite';
import { speakAstro } from './astro-messages.ts';
import { messagesOfCode, type FoundMessage } from './code-messages.ts';
import type { Node } from './syntax.ts';

const top = fileURLToPath(new URL('../../../../', import.meta.url));

/** Folders whose sources say something on a site, in the order in which their messages stand. */
const folders = ['packages/words/src', 'packages/wording/src', 'packages/charts/src', 'apps/dashboard/src'];

/** What scripts of pages are built from. */
const inBrowser =
  /^(?:packages\/(?:words|charts)\/|packages\/wording\/src\/(?:numbers|times)\.ts|apps\/dashboard\/src\/browser\/)/;

/** Every message of the site, from the sources; each once. */
export async function siteMessages(): Promise<SiteMessage[]> {
  const all = new Map<string, SiteMessage>();
  for (const folder of folders) {
    const files = (await readdir(`${top}${folder}`, { recursive: true }))
      .map((f) => f.replaceAll('\\', '/'))
      .sort();
    for (const file of files) {
      if (!/\.(?:ts|astro)$/.test(file) || file.endsWith('.test.ts') || file.startsWith('words/')) continue;
      const where = `${folder}/${file}`;
      for (const message of messagesOf(where, await readFile(`${top}${where}`, 'utf8'))) {
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
    }
  }
  return [...all.values()];
}

function messagesOf(path: string, source: string): readonly FoundMessage[] {
  if (path.endsWith('.astro')) return speakAstro(source, 'say').messages;
  return messagesOfCode(parseSync(path, source).program as unknown as Node, source);
}

/** Keys of the messages that scripts say in the browser. */
export function browserKeys(messages: readonly SiteMessage[]): string[] {
  return messages
    .filter(({ where }) => where.some((path) => inBrowser.test(path)))
    .map(({ id, context }) => keyOf(id, context));
}
