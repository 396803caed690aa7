import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { defineConfig, type Plugin } from 'vite';
import { fontFiles } from './src/model/fonts.ts';

/** Puts the fonts beside the scripts: their style stands in each page. */
const withFonts: Plugin = {
  name: 'fonts',
  generateBundle() {
    const { resolve } = createRequire(import.meta.url);
    for (const { file, source } of fontFiles)
      this.emitFile({ type: 'asset', fileName: file, source: readFileSync(resolve(source)) });
  },
};

/**
 * Classic scripts, since pages opened from a folder (file://) refuse modules: `main` on every page, or `map` or `timelines`, which hold it, on those that
 * have them, so that no page waits for two; `published` where a snapshot stands among others, and `zoom`, which is fetched when a reader asks for a part of a timeline. A classic script is one file, so each is a build of its own:
 * `vite build --mode main`, and so on.
 */
export default defineConfig(({ mode }) => ({
  base: './',
  publicDir: false,
  plugins: mode === 'main' ? [withFonts] : [],
  build: {
    outDir: 'dist/assets',
    emptyOutDir: mode === 'main',
    target: 'es2022',
    modulePreload: false,
    rollupOptions: {
      input: `src/browser/${mode}.ts`,
      output: {
        format: 'iife',
        entryFileNames: mode === 'main' ? 'stillmark.js' : `stillmark-${mode}.js`,
      },
    },
  },
}));
