import { dayMs, formatInstant, type ArrivalRecord } from '@stillmark/records';
import { outageLimit, type Arrivals } from './outages.ts';

/** So many days are drawn. */
const shownDays = 60;

/** How the positions of a station in a stream arrived over the last weeks. */
export function arrivalsOf(
  { stream, timesMs, spacingMs }: Arrivals,
  asOfMs: number,
  recentMs: number,
  lateMs: number,
): ArrivalRecord {
  const last = timesMs.at(-1)!;
  const least = outageLimit(spacingMs);
  const since = asOfMs - recentMs;
  let outages = 0;
  let outageMs = 0;
  const add = (begin: number, end: number, limit: number): void => {
    if (end - begin <= limit || end <= since) return;
    outages++;
    // Of one that began before, the part that lies in the span.
    outageMs += end - Math.max(begin, since);
  };
  for (let i = 1; i < timesMs.length; i++) add(timesMs[i - 1]!, timesMs[i]!, least);
  add(last, asOfMs, Math.max(least, lateMs));
  const firstDay = Math.floor(asOfMs / dayMs) * dayMs - (shownDays - 1) * dayMs;
  const days = Array.from({ length: shownDays }, (_, k) => {
    const begin = firstDay + k * dayMs;
    return shareOf(timesMs, spacingMs, begin, Math.min(begin + dayMs, asOfMs + 1));
  });
  return {
    stream,
    newest: formatInstant(last),
    behindMs: Math.max(0, asOfMs - last - spacingMs),
    completeness: shareOf(timesMs, spacingMs, since, asOfMs + 1) ?? 1,
    outages,
    outageMs,
    firstDay: formatInstant(firstDay),
    days,
  };
}

/**
 * Share of the positions expected from an instant to before another that are there: at the usual spacing from the newest one on, and not
 * before the first. Null where none is expected.
 */
function shareOf(timesMs: Float64Array, spacingMs: number, fromMs: number, toMs: number): number | null {
  const begin = Math.max(fromMs, timesMs[0]! - spacingMs / 2);
  const anchor = timesMs.at(-1)!;
  const slot = (ms: number): number => (ms - anchor) / spacingMs;
  const [first, last] = [Math.ceil(slot(begin)), Math.ceil(slot(toMs)) - 1];
  if (last < first) return null;
  const seen = new Set<number>();
  // A position may stand a little beside its time.
  for (
    let i = lowerBound(timesMs, begin - spacingMs / 2);
    i < timesMs.length && timesMs[i]! < toMs + spacingMs / 2;
    i++
  ) {
    const nearest = Math.round(slot(timesMs[i]!));
    if (nearest >= first && nearest <= last) seen.add(nearest);
  }
  return seen.size / (last - first + 1);
}

function lowerBound(timesMs: Float64Array, ms: number): number {
  let [low, high] = [0, timesMs.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timesMs[middle]! < ms) low = middle + 1;
    else high = middle;
  }
  return low;
}
