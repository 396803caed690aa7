import { dayMs } from '@stillmark/records';
import type { TimeSpan } from '@stillmark/snapshot/series';

/** Nothing shorter is shown. */
const shortestMs = dayMs / 24;

/** A span moved into a whole, and no longer than it. */
export function clamped({ fromMs, toMs }: TimeSpan, whole: TimeSpan): TimeSpan {
  const length = Math.min(Math.max(toMs - fromMs, shortestMs), whole.toMs - whole.fromMs);
  const from = Math.min(Math.max(fromMs, whole.fromMs), whole.toMs - length);
  return { fromMs: from, toMs: from + length };
}

/** A span that is shorter by a factor (longer by one below 1), with an instant of it kept at its place. */
export function closer({ fromMs, toMs }: TimeSpan, factor: number, aboutMs = (fromMs + toMs) / 2): TimeSpan {
  return { fromMs: aboutMs - (aboutMs - fromMs) / factor, toMs: aboutMs + (toMs - aboutMs) / factor };
}

/** A span moved by a share of its length: later, or earlier where it is negative. */
export function along({ fromMs, toMs }: TimeSpan, share: number): TimeSpan {
  const by = share * (toMs - fromMs);
  return { fromMs: fromMs + by, toMs: toMs + by };
}
