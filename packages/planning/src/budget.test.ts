import { expectClose } from '@stillmark/tooling/close';
import { expect, test } from 'vitest';
import { askedOfMovement, ellipseOverInterval, precisionBudget, specificationMargin } from './index.ts';

test('one part per million is one millimetre a kilometre, added to the constant part', () => {
  const receiver = { horizontal: { mm: 3, ppm: 0.5 }, up: { mm: 5, ppm: 1 }, source: 'specification sheet' };
  expect(precisionBudget(receiver, 2000)).toEqual({
    horizontal_mm: 4,
    up_mm: 7,
    source: 'specification sheet',
  });
  expect(precisionBudget(receiver, 0)).toMatchObject({ horizontal_mm: 3, up_mm: 5 });
});

test('half-widths of a specification at 95 %: 2.4477 sigma in plan and 1.9600 in height (FGDC-STD-007.3-1998, appendix 3-A), the lesser margin counts', () => {
  const { halfWidths_mm, margin } = specificationMargin({ horizontal_mm: 2, up_mm: 5 }, { horizontal: 10, up: 18 }, 0.95); // prettier-ignore
  expectClose(halfWidths_mm.horizontal, 2 * 2.4477, { within: 1e-4 });
  expectClose(halfWidths_mm.up, 5 * 1.96, { within: 1e-3 });
  expectClose(margin, 18 / 9.8, { within: 1e-3 });
  // 2.4477 over 1.9600, of the same standard.
  expectClose(ellipseOverInterval(0.95), 2.4477 / 1.96, { within: 1e-4 });
  expect(askedOfMovement({ horizontal: 12, up: 30 })).toEqual({ horizontal: 4, up: 10 });
});
