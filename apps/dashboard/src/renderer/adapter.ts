import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { AstroIntegration } from 'astro';

/** Makes `astro build` emit a renderer that is called in-process, in place of a web server. */
export function rendererAdapter(): AstroIntegration {
  let outFolder = '';
  return {
    name: '@stillmark/renderer',
    hooks: {
      'astro:config:done': ({ setAdapter, config }) => {
        outFolder = fileURLToPath(config.outDir);
        setAdapter({
          name: '@stillmark/renderer',
          entrypointResolution: 'auto',
          serverEntrypoint: new URL('./entry.ts', import.meta.url),
          supportedAstroFeatures: {
            staticOutput: 'stable',
            serverOutput: 'stable',
            sharpImageService: 'unsupported',
          },
        });
      },
      'astro:build:done': () => forgetMachine(outFolder),
    },
  };
}

/** The bundle names the folders it was built in, for messages only; the same sources must give the same bytes anywhere. */
async function forgetMachine(folder: string): Promise<void> {
  const top = fileURLToPath(new URL('../../../../', import.meta.url));
  for (const entry of await readdir(folder, { recursive: true, withFileTypes: true })) {
    if (!entry.isFile()) continue;
    const path = join(entry.parentPath, entry.name);
    const text = await readFile(path, 'utf8');
    if (text.includes(top)) await writeFile(path, text.replaceAll(top, '/stillmark/'));
  }
}
