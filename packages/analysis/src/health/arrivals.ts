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
  const from = Math.max(timesMs[0]!, asOfMs - recentMs);
  let outages = 0;
  let outageMs = 0;
  const add = (begin: number, end: number, limit: number): void => {
    if (end - begin <= limit || begin < asOfMs - recentMs) return;
    outages++;
    outageMs += end - begin;
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
    completeness: shareOf(timesMs, spacingMs, from, asOfMs + 1),
    outages,
    outageMs,
    firstDay: formatInstant(firstDay),
    days,
  };
}

/** Share of the positions expected from an instant to before another that are there; a time before the first one is not expected. */
function shareOf(timesMs: Float64Array, spacingMs: number, fromMs: number, toMs: number): number {
  const begin = Math.max(fromMs, timesMs[0]!);
  if (begin >= toMs) return 0;
  const slots = new Set<number>();
  for (let i = lowerBound(timesMs, begin); i < timesMs.length && timesMs[i]! < toMs; i++)
    slots.add(Math.round((timesMs[i]! - begin) / spacingMs));
  const expected = Math.max(1, Math.ceil((toMs - begin) / spacingMs));
  return Math.min(1, slots.size / expected);
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
