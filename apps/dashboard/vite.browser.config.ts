import { defineConfig } from 'vite';

// One classic script and one style sheet: pages opened from a folder (file://) refuse module scripts.
export default defineConfig({
  base: './',
  publicDir: false,
  build: {
    outDir: 'dist/assets',
    target: 'es2022',
    // Fonts stay files of their own: the style sheet blocks the first paint, they do not.
    assetsInlineLimit: 0,
    modulePreload: false,
    cssCodeSplit: false,
    rollupOptions: {
      input: 'src/browser/main.ts',
      output: {
        format: 'iife',
        entryFileNames: 'stillmark.js',
        assetFileNames: (asset) => (asset.names[0]?.endsWith('.css') ? 'stillmark.css' : '[name][extname]'),
      },
    },
  },
});
