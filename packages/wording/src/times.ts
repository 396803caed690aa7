import { inContext, t, translated } from '@stillmark/words';
import { count } from './numbers.ts';

const english = [
  'January',
  'February',
  'March',
  'April',
  'May',
  'June',
  'July',
  'August',
  'September',
  'October',
  'November',
  'December',
];
/** Names of months, as they stand in a date and by themselves: many languages have two. */
const monthsOfDates = translated(english, 'month of a date');
const months = translated(english, 'month');
const pattern = inContext('date');

interface WallTime {
  readonly year: number;
  readonly month: number;
  readonly day: number;
  readonly hour: number;
  readonly minute: number;
}

/**
 * Times as a project's pages show them. The zone is named by its offset, since the abbreviations of zones differ between
 * machines and are ambiguous.
 */
export class ZoneClock {
  readonly zone: string;
  readonly #format: Intl.DateTimeFormat;

  /** @param zone IANA name of the time zone */
  constructor(zone: string) {
    this.zone = zone;
    this.#format = new Intl.DateTimeFormat('en-US', {
      timeZone: zone,
      calendar: 'gregory',
      numberingSystem: 'latn',
      hourCycle: 'h23',
      year: 'numeric',
      month: 'numeric',
      day: 'numeric',
      hour: 'numeric',
      minute: 'numeric',
    });
  }

  #wall(ms: number): WallTime {
    const parts: Record<string, number> = {};
    for (const { type, value } of this.#format.formatToParts(ms)) parts[type] = Number(value);
    return parts as unknown as WallTime;
  }

  /** Wall clock minus UTC at an instant, in milliseconds. */
  offsetMs(ms: number): number {
    const w = this.#wall(ms);
    return Date.UTC(w.year, w.month - 1, w.day, w.hour, w.minute) - Math.floor(ms / 60_000) * 60_000;
  }

  /** `UTC`, `UTC+02:00`, `UTC−03:30`. */
  offsetName(ms: number): string {
    const minutes = Math.round(this.offsetMs(ms) / 60_000);
    if (minutes === 0) return 'UTC';
    const two = (n: number): string => String(n).padStart(2, '0');
    return `UTC${minutes < 0 ? '\u2212' : '+'}${two(Math.floor(Math.abs(minutes) / 60))}:${two(Math.abs(minutes) % 60)}`;
  }

  /** `10 May 2026`. */
  date(ms: number): string {
    const w = this.#wall(ms);
    return pattern`${w.day} ${monthsOfDates[w.month - 1]} ${w.year}`;
  }

  /** `10 May 2026, 06:00 UTC+02:00`. */
  dateTime(ms: number): string {
    const w = this.#wall(ms);
    return pattern`${this.date(ms)}, ${String(w.hour).padStart(2, '0')}:${String(w.minute).padStart(2, '0')} ${this.offsetName(ms)}`;
  }

  /** `1 to 28 March 2026`: the days from an instant to the last one before another. */
  days(fromMs: number, toMs: number): string {
    const a = this.#wall(fromMs);
    const b = this.#wall(Math.max(fromMs, toMs - 1));
    const [from, to] = [monthsOfDates[a.month - 1], monthsOfDates[b.month - 1]];
    if (a.year !== b.year) return pattern`${a.day} ${from} ${a.year} to ${b.day} ${to} ${b.year}`;
    if (a.month !== b.month) return pattern`${a.day} ${from} to ${b.day} ${to} ${b.year}`;
    if (a.day !== b.day) return pattern`${a.day} to ${b.day} ${to} ${b.year}`;
    return pattern`${b.day} ${to} ${b.year}`;
  }
}

/** `6 h`, `30 min`, `14 days`: the largest unit that gives a whole number. */
export function formatSpan(ms: number): string {
  const units: [size: number, text: (n: number) => string][] = [
    [86_400_000, (n) => count(n, 'day')],
    [3_600_000, (n) => t`${n} h`],
    [60_000, (n) => t`${n} min`],
    [1000, (n) => t`${n} s`],
  ];
  for (const [size, text] of units) {
    if (ms >= 2 * size && ms % size === 0) return text(ms / size);
    if (ms === size) return size === 86_400_000 ? t`${24} h` : text(1);
  }
  return t`${ms / 1000} s`;
}

/** `mid August` of a day of the year. */
export function dayOfYear(day: number): string {
  const date = new Date(Date.UTC(2001, 0, 1) + (day - 1) * 86_400_000);
  const month = months[date.getUTCMonth()]!;
  return date.getUTCDate() <= 10
    ? t`early ${month}`
    : date.getUTCDate() <= 20
      ? t`mid ${month}`
      : t`late ${month}`;
}
