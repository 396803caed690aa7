import { bisectLeft, bisectRight } from 'd3-array';

/** The rows of columns that stand in order of time from one instant to another, both included; nothing is copied. */
export function cutTo<T extends { readonly timesMs: Float64Array }>(
  columns: T,
  { fromMs, toMs }: { readonly fromMs: number; readonly toMs: number },
): T {
  const [from, to] = [bisectLeft(columns.timesMs, fromMs), bisectRight(columns.timesMs, toMs)];
  return Object.fromEntries(
    Object.entries(columns as unknown as Record<string, Float64Array>).map(([name, values]) => [
      name,
      values.subarray(from, to),
    ]),
  ) as unknown as T;
}
