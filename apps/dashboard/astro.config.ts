import { defineConfig } from 'astro/config';
import { rendererAdapter } from './src/renderer/adapter.ts';

export default defineConfig({
  output: 'server',
  adapter: rendererAdapter(),
  outDir: './dist/renderer',
  devToolbar: { enabled: false },
  build: { format: 'preserve', inlineStylesheets: 'never' },
  security: { checkOrigin: false },
  vite: {
    environments: {
      ssr: { resolve: { noExternal: true } },
      prerender: { resolve: { noExternal: true } },
    },
  },
});
