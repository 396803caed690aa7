const months = [
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
    return `${w.day} ${months[w.month - 1]} ${w.year}`;
  }

  /** `10 May 2026, 06:00 UTC+02:00`. */
  dateTime(ms: number): string {
    const w = this.#wall(ms);
    return `${this.date(ms)}, ${String(w.hour).padStart(2, '0')}:${String(w.minute).padStart(2, '0')} ${this.offsetName(ms)}`;
  }

  /** `1 to 28 March 2026`: the days from an instant to the last one before another. */
  days(fromMs: number, toMs: number): string {
    const a = this.#wall(fromMs);
    const b = this.#wall(Math.max(fromMs, toMs - 1));
    const end = `${b.day} ${months[b.month - 1]} ${b.year}`;
    if (a.year === b.year && a.month === b.month && a.day === b.day) return end;
    const start = [
      String(a.day),
      ...(a.month === b.month && a.year === b.year ? [] : [months[a.month - 1]!]),
      ...(a.year === b.year ? [] : [String(a.year)]),
    ];
    return `${start.join(' ')} to ${end}`;
  }
}

/** `6 h`, `30 min`, `14 days`: the largest unit that gives a whole number. */
export function formatSpan(ms: number): string {
  const units = [
    [86_400_000, 'day', 'days'],
    [3_600_000, 'h', 'h'],
    [60_000, 'min', 'min'],
    [1000, 's', 's'],
  ] as const;
  for (const [size, one, many] of units) {
    if (ms >= 2 * size && ms % size === 0) return `${ms / size} ${many}`;
    if (ms === size && size < 86_400_000) return `1 ${one}`;
    if (ms === size) return '24 h';
  }
  return `${ms / 1000} s`;
}

/** `mid August` of a day of the year. */
export function dayOfYear(day: number): string {
  const date = new Date(Date.UTC(2001, 0, 1) + (day - 1) * 86_400_000);
  const part = date.getUTCDate() <= 10 ? 'early' : date.getUTCDate() <= 20 ? 'mid' : 'late';
  return `${part} ${months[date.getUTCMonth()]!}`;
}
