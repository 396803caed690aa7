import { defineConfig, type ViteUserConfig } from 'vitest/config';

/**
 * Test settings shared by every room.
 *
 * The zone is pinned to one that has daylight saving and is not UTC, so that a forgotten zone shows up as a
 * failing test on every machine. The JSON report is what `scripts/tally.mjs` adds up.
 */
export function roomTests(room: string): ViteUserConfig {
  return defineConfig({
    test: {
      name: room,
      include: ['**/*.test.ts'],
      exclude: ['**/node_modules/**', '**/dist/**'],
      env: { TZ: 'America/St_Johns', LANG: 'C' },
      reporters: ['default', 'json'],
      outputFile: { json: '.reports/vitest.json' },
      testTimeout: 60_000,
      hookTimeout: 240_000,
    },
  });
}
