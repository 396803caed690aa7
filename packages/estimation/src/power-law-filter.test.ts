import { source } from '@stillmark/data/synthetic/noise.ts';
import { expectClose } from '@stillmark/tooling/close';
import { expect, test } from 'vitest';
import { powerLawResponse } from './flicker.ts';
import { PowerLawFilter } from './power-law-filter.ts';

test.each([1, 2, 7, 64, 500])('%i values: the sum of its definition', (n) => {
  const { normal } = source(n);
  const [a, b] = [0, 1].map(() => Float64Array.from({ length: n }, normal)) as [Float64Array, Float64Array];
  const h = powerLawResponse(n, 0.5);
  const direct = (w: Float64Array): number[] =>
    Array.from({ length: n }, (_, i) => h.subarray(0, i + 1).reduce((s, v, k) => s + v * w[i - k]!, 0));
  const [fa, fb] = new PowerLawFilter(n, 0.5).apply(a, b);
  expectClose([...fa], direct(a), { within: 1e-12 });
  expectClose([...fb], direct(b), { within: 1e-12 });
  expect(fa.length).toBe(n);
});
