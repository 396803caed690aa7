import { readFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import type { Plugin } from 'vite';
import { speakAstro } from './astro-messages.ts';
import { browserKeys, siteMessages } from './site-messages.ts';

/** Modules that are made when the renderer is built: every message of the site, and the keys of those that scripts say in the browser. */
const made: Readonly<Record<string, () => Promise<unknown>>> = {
  'virtual:site-messages': siteMessages,
  'virtual:browser-keys': async () => browserKeys(await siteMessages()),
};

/** Lets pages and components say their text in the words of a project: see "Words of the site" in DEVELOPERS.md. */
export function spokenPages(): Plugin {
  const say = fileURLToPath(new URL('./say.ts', import.meta.url));
  return {
    name: 'spoken-pages',
    enforce: 'pre',
    resolveId: (id) => (Object.hasOwn(made, id) ? `\0${id}` : undefined),
    async load(id) {
      const make = id.startsWith('\0') ? made[id.slice(1)] : undefined;
      if (make) return `export default ${JSON.stringify(await make())};`;
      // Addresses with a query ask for a part of a page that was turned already.
      if (!/\/dashboard\/src\/[^?]*\.astro$/.test(id)) return undefined;
      return speakAstro(await readFile(id, 'utf8'), say).code;
    },
  };
}
