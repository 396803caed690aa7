import { source } from '@stillmark/data/synthetic/noise.ts';
import { expect, test } from 'vitest';
import { arcTangent } from './arc-tangent.ts';

test('is that of the language to the last place, all through its range', () => {
  const random = source(9);
  let worst = 0;
  for (let i = 0; i < 200_000; i++) {
    const x = 2 * random.uniform() - 1;
    worst = Math.max(worst, Math.abs(arcTangent(x) - Math.atan(x)));
  }
  expect(worst).toBeLessThanOrEqual(2 ** -53);
  for (const x of [0, 1, -1, 0.5, -0.5, 1 / 64, 3 / 64, 1e-9, -1e-300])
    expect(Math.abs(arcTangent(x) - Math.atan(x))).toBeLessThanOrEqual(2 ** -53 * Math.abs(Math.atan(x)) * 2);
});
