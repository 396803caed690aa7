import { medianTrend } from '@stillmark/estimation';
import { dayMs, formatInstant, type ReadingSeries, type SupplyRecord } from '@stillmark/records';

export interface SupplyTask {
  readonly sensor: string;
  readonly of: string;
  readonly kind: SupplyRecord['kind'];
  readonly unit: string;
  readonly limit: number;
  /** Of data: day of the month on which the plan begins anew. */
  readonly resets?: number;
  readonly readings: ReadingSeries;
  readonly asOfMs: number;
}

/** The trend of this span is told, and data are used at the rate of that one. */
const trendDays = 28;
const rateDays = 7;
/** A trend that leads there in more than this is none that somebody must know of. */
const farDays = 365;
const yearDays = 365.25;
/** Quantile of the normal distribution for an interval of 95 %. */
const z95 = 1.959964;

/** Power, data plan or storage: how much there is, where it goes, and when the limit is reached. */
export function supplyOf(task: SupplyTask): SupplyRecord {
  const { sensor, of, kind, unit, limit, readings } = task;
  const base = { sensor, of, kind, unit, limit };
  const n = readings.timesMs.length;
  if (n === 0) return base;
  const newest = { at: formatInstant(readings.timesMs[n - 1]!), value: readings.values[n - 1]! };
  return { ...base, newest, ...(kind === 'data' ? planOf(task) : trendOf(task)) };
}

/** Least value of each UTC day of the span of the trend. */
function dailyLeast(
  { timesMs, values }: ReadingSeries,
  asOfMs: number,
): { days: Float64Array; least: Float64Array } {
  const least = new Map<number, number>();
  for (let i = 0; i < timesMs.length; i++) {
    if (timesMs[i]! <= asOfMs - trendDays * dayMs) continue;
    const day = Math.floor(timesMs[i]! / dayMs);
    least.set(day, Math.min(least.get(day) ?? Number.POSITIVE_INFINITY, values[i]!));
  }
  return { days: Float64Array.from(least.keys()), least: Float64Array.from(least.values()) };
}

function trendOf({ readings, asOfMs, limit }: SupplyTask): Partial<SupplyRecord> {
  const { days, least } = dailyLeast(readings, asOfMs);
  const present = least.at(-1);
  if (present === undefined) return {};
  const passed = present <= limit ? { passed: true } : {};
  // Ten days are the fewest of which a robust trend is taken.
  if (days.length < 10) return passed;
  const yearly = medianTrend(
    days.map((d) => d / yearDays),
    least,
  );
  const [slope, standardError] = [yearly.slope / yearDays, yearly.standardError / yearDays];
  const trend = { perDay: slope, perDayPlusMinus: z95 * standardError };
  if (present <= limit) return { ...trend, ...passed };
  // From the day of the last reading on, which may be some time ago.
  const lastMs = readings.timesMs.at(-1)!;
  const within = (rate: number): number | undefined => {
    const left = rate < 0 ? (limit - present) / rate : Number.POSITIVE_INFINITY;
    return left <= farDays ? Math.round((lastMs + left * dayMs) / 1000) * 1000 : undefined;
  };
  // Where the trend is no chance it is told when; the steepest one that it may be says the earliest.
  if (slope + z95 * standardError >= 0) return trend;
  const [by, earliest] = [within(slope), within(slope - z95 * standardError)];
  if (earliest === undefined) return trend;
  return {
    ...trend,
    reached: {
      earliest: formatInstant(earliest),
      ...(by === undefined ? {} : { by: formatInstant(by) }),
    },
  };
}

function planOf({ readings: { timesMs, values }, asOfMs, limit, resets }: SupplyTask): Partial<SupplyRecord> {
  const [from, to] = planSpan(asOfMs, resets ?? 1);
  const span = { from: formatInstant(from), to: formatInstant(to) };
  const last = timesMs.length - 1;
  // What was used in the last plan says nothing of this one.
  if (timesMs[last]! < from) return { plan: span };
  const used = values[last]!;
  // The counter begins anew with the plan: the rate is that of the last week within it.
  let first = last;
  while (
    first > 0 &&
    timesMs[first - 1]! >= Math.max(from, timesMs[last]! - rateDays * dayMs) &&
    values[first - 1]! <= values[first]!
  )
    first--;
  const passed = timesMs[last]! - timesMs[first]!;
  const rate = passed > 0 ? (values[last]! - values[first]!) / passed : 0;
  const expected = used + rate * Math.max(0, to - timesMs[last]!);
  const plan = { ...span, used, expected };
  if (used >= limit) return { plan, passed: true };
  if (expected <= limit) return { plan };
  const at = formatInstant(Math.round((timesMs[last]! + (limit - used) / rate) / 1000) * 1000);
  return { plan, reached: { earliest: at, by: at } };
}

/** The months of a plan that begins anew on a day, in UTC. */
function planSpan(asOfMs: number, day: number): [number, number] {
  const now = new Date(asOfMs);
  const back = now.getUTCDate() >= day ? 0 : 1;
  const at = (months: number): number =>
    Date.UTC(now.getUTCFullYear(), now.getUTCMonth() - back + months, day);
  return [at(0), at(1)];
}
