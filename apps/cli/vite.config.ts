import { defineConfig } from 'vite';

// The command and the code of its threads; DuckDB stays a dependency, since it carries native code.
export default defineConfig({
  build: {
    ssr: true,
    outDir: 'dist',
    target: 'node20',
    minify: false,
    license: { fileName: 'licences.md' },
    rollupOptions: {
      input: { stillmark: 'src/main.ts', 'station-worker': 'src/station-worker.ts' },
      external: ['@duckdb/node-api'],
      output: { entryFileNames: '[name].js', chunkFileNames: 'shared/[name].js' },
    },
  },
  ssr: { noExternal: true, external: ['@duckdb/node-api'] },
});
