import { roomTests } from '@stillmark/tooling/vitest';
import { mergeConfig } from 'vitest/config';

export default mergeConfig(roomTests('tests'), {
  test: {
    globalSetup: ['./support/demo-site.ts'],
    fileParallelism: true,
    maxWorkers: 2,
    // A browser beside two workers on two cores is now and then slow to draw.
    expect: { poll: { timeout: 15_000 } },
  },
});
