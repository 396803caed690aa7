/**
 * Instants are milliseconds of UTC since 1970-01-01 (POSIX: leap seconds are not counted).
 */

const instantPattern =
  /^(\d{4})-(\d{2})-(\d{2})[T ](\d{2}):(\d{2})(?::(\d{2})(?:\.(\d{1,9}))?)?(Z|[+-]\d{2}:?\d{2})?$/;

export type TimeScale = 'UTC' | 'GPS';

export type InstantResult =
  { readonly ok: true; readonly ms: number } | { readonly ok: false; readonly reason: string };

/**
 * Reads an ISO 8601 / RFC 3339 date and time.
 *
 * In UTC a zone (`Z` or `+hh:mm`) is required: a time without one is refused, never guessed. In GPS time there is
 * no zone; the value is converted to UTC with the leap seconds in force (IERS Bulletin C). Fractions are read
 * to the millisecond; a finer one is rounded.
 */
export function parseInstant(text: string, scale: TimeScale = 'UTC'): InstantResult {
  const match = instantPattern.exec(text.trim());
  if (!match)
    return no(`'${text}' is not a date and time such as 2026-03-01T06:00:00${scale === 'UTC' ? 'Z' : ''}`);
  const [, year, month, day, hour, minute, second = '00', fraction = '', zone] = match;
  if (scale === 'UTC' && zone === undefined) return no(`'${text}' has no time zone`);
  if (scale === 'GPS' && zone !== undefined)
    return no(`'${text}' carries a zone, but the column is declared as GPS time`);
  const ms = Date.UTC(+year!, +month! - 1, +day!, +hour!, +minute!, +second);
  const back = new Date(ms);
  const valid =
    back.getUTCMonth() === +month! - 1 &&
    back.getUTCDate() === +day! &&
    +hour! < 24 &&
    +minute! < 60 &&
    +second < 60 &&
    // Others are slips of the hand, and lead out of what calendars and databases hold.
    +year! >= 1900 &&
    +year! < 2200;
  if (!valid) return no(`'${text}' is not a date and time of the calendar`);
  const exact = ms + Math.round(Number(`0.${fraction || '0'}`) * 1000);
  if (scale === 'GPS') return { ok: true, ms: gpsToUtc(exact) };
  const offset = zoneOffsetMs(zone!);
  if (offset === undefined) return no(`'${text}' has a zone that does not exist`);
  return { ok: true, ms: exact - offset };
}

/** No zone of the world is further from UTC than 14 hours. */
function zoneOffsetMs(zone: string): number | undefined {
  if (zone === 'Z') return 0;
  const digits = zone.replace(':', '');
  const sign = digits[0] === '-' ? -1 : 1;
  const [hours, minutes] = [Number(digits.slice(1, 3)), Number(digits.slice(3, 5))];
  return hours <= 14 && minutes < 60 ? sign * (hours * 60 + minutes) * 60_000 : undefined;
}

function no(reason: string): InstantResult {
  return { ok: false, reason };
}

/** ISO 8601 in UTC, without the fraction where it is zero: `2026-03-01T06:00:00Z`. */
export function formatInstant(ms: number): string {
  return new Date(ms).toISOString().replace('.000Z', 'Z');
}

/**
 * First UTC days on which GPS time was ahead of UTC by one more second than before: entry k begins an offset of
 * k + 1 seconds. Source: IERS Bulletin C, as carried in tzdata's leap-seconds.list (GPS - UTC = TAI - UTC - 19 s).
 */
const leapDays = [
  '1981-07-01', '1982-07-01', '1983-07-01', '1985-07-01', '1988-01-01', '1990-01-01', '1991-01-01', '1992-07-01', '1993-07-01',
  '1994-07-01', '1996-01-01', '1997-07-01', '1999-01-01', '2006-01-01', '2009-01-01', '2012-07-01', '2015-07-01', '2017-01-01',
].map((day) => Date.parse(`${day}T00:00:00Z`)); // prettier-ignore

/** GPS - UTC in seconds at an instant of UTC. */
export function gpsMinusUtcSeconds(utcMs: number): number {
  let seconds = 0;
  for (const day of leapDays) if (utcMs >= day) seconds++;
  return seconds;
}

/** An instant whose calendar reading is in GPS time, as UTC. */
export function gpsToUtc(gpsMs: number): number {
  let seconds = gpsMinusUtcSeconds(gpsMs);
  // Within the seconds before a leap the reading in GPS time is already past it, UTC is not.
  if (gpsMinusUtcSeconds(gpsMs - seconds * 1000) < seconds) seconds--;
  return gpsMs - seconds * 1000;
}

/** A day, in milliseconds. */
export const dayMs = 86_400_000;

const unitMs: Record<string, number> = { s: 1000, min: 60_000, h: 3_600_000, d: dayMs };

/** No span that a project names is longer than this: longer ones are mistakes, and lead out of the calendar. */
const longestMs = 100 * 366 * dayMs;

/** A span of time such as `30 min`, `6 h` or `14 d`, in milliseconds; undefined where it is not one. */
export function parseDuration(text: string): number | undefined {
  const match = /^(\d+(?:\.\d+)?)\s*(s|min|h|d)$/.exec(text.trim());
  if (!match) return undefined;
  const ms = Number(match[1]) * unitMs[match[2]!]!;
  return ms > 0 && ms <= longestMs && Number.isInteger(ms) ? ms : undefined;
}
