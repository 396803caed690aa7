/** Writes the template of everything that a site says, for those who translate without the command: `npm run words`. */
import { writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { siteMessages } from '@stillmark/dashboard/site-messages';
import { templateOf } from '@stillmark/pipeline';

export const templateFile = fileURLToPath(new URL('../../apps/dashboard/words/site.pot', import.meta.url));

export async function template(): Promise<string> {
  return templateOf(await siteMessages());
}

if (process.argv[1] === fileURLToPath(import.meta.url)) await writeFile(templateFile, await template());
