import { defineConfig } from 'vite';

// One file for the command; DuckDB stays a dependency, since it carries native code.
export default defineConfig({
  build: {
    ssr: 'src/main.ts',
    outDir: 'dist',
    target: 'node20',
    minify: false,
    rollupOptions: { external: ['@duckdb/node-api'], output: { entryFileNames: 'stillmark.js' } },
  },
  ssr: { noExternal: true, external: ['@duckdb/node-api'] },
});
