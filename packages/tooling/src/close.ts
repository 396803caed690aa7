/** How close is close enough, and in what unit: both are printed when a comparison fails. */
export interface Tolerance {
  /** Largest accepted absolute difference. */
  readonly within: number;
  readonly unit?: string;
}

/**
 * Throws unless every number in `actual` is within the tolerance of the number at the same place in `expected`.
 *
 * Walks arrays, typed arrays and plain objects; every failing place is listed with actual, expected, difference
 * and tolerance. Keys that `expected` does not name are not looked at.
 */
export function expectClose(actual: unknown, expected: unknown, tolerance: Tolerance): void {
  const failures: string[] = [];
  compare(actual, expected, tolerance, '', failures);
  if (failures.length > 0) throw new Error(`not close enough:\n${failures.join('\n')}`);
}

function compare(
  actual: unknown,
  expected: unknown,
  tolerance: Tolerance,
  path: string,
  out: string[],
): void {
  const place = path === '' ? 'value' : path;
  if (typeof expected === 'number') {
    const difference = typeof actual === 'number' ? Math.abs(actual - expected) : Number.NaN;
    const same = Object.is(actual, expected) || difference <= tolerance.within;
    if (!same) {
      const unit = tolerance.unit ? ` ${tolerance.unit}` : '';
      out.push(
        `  ${place}: actual ${String(actual)}, expected ${expected}, difference ${difference}, tolerance ${tolerance.within}${unit}`,
      );
    }
    return;
  }
  if (isIndexed(expected)) {
    const length = isIndexed(actual) ? actual.length : undefined;
    if (length !== expected.length) {
      out.push(`  ${place}: actual length ${String(length)}, expected length ${expected.length}`);
      return;
    }
    for (let i = 0; i < expected.length; i++) {
      compare((actual as ArrayLike<unknown>)[i], expected[i], tolerance, `${path}[${i}]`, out);
    }
    return;
  }
  if (typeof expected === 'object' && expected !== null) {
    for (const [key, value] of Object.entries(expected)) {
      const part =
        typeof actual === 'object' && actual !== null ? (actual as Record<string, unknown>)[key] : undefined;
      compare(part, value, tolerance, path === '' ? key : `${path}.${key}`, out);
    }
    return;
  }
  if (!Object.is(actual, expected))
    out.push(`  ${place}: actual ${String(actual)}, expected ${String(expected)}`);
}

function isIndexed(value: unknown): value is ArrayLike<unknown> {
  return Array.isArray(value) || (ArrayBuffer.isView(value) && !(value instanceof DataView));
}
