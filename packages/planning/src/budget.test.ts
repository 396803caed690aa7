import { expect, test } from 'vitest';
import { precisionBudget } from './index.ts';

test('one part per million is one millimetre a kilometre, added to the constant part', () => {
  const receiver = { horizontal: { mm: 3, ppm: 0.5 }, up: { mm: 5, ppm: 1 }, source: 'specification sheet' };
  expect(precisionBudget(receiver, 2000)).toEqual({
    horizontal_mm: 4,
    up_mm: 7,
    source: 'specification sheet',
  });
  expect(precisionBudget(receiver, 0)).toMatchObject({ horizontal_mm: 3, up_mm: 5 });
});
