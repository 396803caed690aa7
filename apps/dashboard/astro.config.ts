import { defineConfig, passthroughImageService } from 'astro/config';
import { rendererAdapter } from './src/renderer/adapter.ts';
import { spokenPages } from './src/words/plugin.ts';

// Built once into a renderer that is called in-process for each snapshot: see "Rendering" in DEVELOPERS.md.
export default defineConfig({
  output: 'server',
  adapter: rendererAdapter(),
  outDir: './dist/renderer',
  // Spaces between words and expressions are kept as they are written.
  compressHTML: false,
  image: { service: passthroughImageService() },
  devToolbar: { enabled: false },
  build: { format: 'preserve', inlineStylesheets: 'never' },
  security: { checkOrigin: false },
  vite: {
    plugins: [spokenPages()],
    // What the packages that are built in ask for goes into the package of the command.
    build: { license: { fileName: 'licences.md' } },
    environments: {
      ssr: { resolve: { noExternal: true } },
      prerender: { resolve: { noExternal: true } },
    },
  },
});
