import { roomTests } from '@stillmark/tooling/vitest';
import { mergeConfig } from 'vitest/config';

export default mergeConfig(roomTests('tests'), {
  test: { globalSetup: ['./support/demo-site.ts'], fileParallelism: true, maxWorkers: 2 },
});
