import { defineConfig } from 'vite';

/**
 * Classic scripts, since pages opened from a folder (file://) refuse modules: `main`, with the style sheet, on every page, and
 * `zoom`, which is fetched when a reader asks for a part of a timeline, and `map`, on the page of the map. A classic script is one file, so each is a build of
 * its own: `vite build --mode main`, and so on.
 */
export default defineConfig(({ mode }) => ({
  base: './',
  publicDir: false,
  build: {
    outDir: 'dist/assets',
    emptyOutDir: mode === 'main',
    target: 'es2022',
    // Fonts stay files of their own: the style sheet blocks the first paint, they do not.
    assetsInlineLimit: 0,
    modulePreload: false,
    cssCodeSplit: false,
    rollupOptions: {
      input: `src/browser/${mode}.ts`,
      output: {
        format: 'iife',
        entryFileNames: mode === 'main' ? 'stillmark.js' : `stillmark-${mode}.js`,
        assetFileNames: (asset) => (asset.names[0]?.endsWith('.css') ? 'stillmark.css' : '[name][extname]'),
      },
    },
  },
}));
