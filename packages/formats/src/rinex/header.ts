import { fail } from '@stillmark/problems';

/** One record of the head of a RINEX file: what stands in columns 1 to 60, and its label. */
export interface HeaderRecord {
  readonly text: string;
  readonly label: string;
}

export function headerRecord(line: string): HeaderRecord {
  return { text: line.slice(0, 60).padEnd(60), label: line.slice(60, 80).trim() };
}

/** First record of a RINEX file: version, type and constellation (`M` for several). */
export interface RinexKind {
  readonly version: number;
  readonly type: string;
  readonly system: string;
}

/**
 * @throws INPUT_ROW where the first line is not that of RINEX of version 2, 3 or 4; INPUT_NOT_TEXT for its compact form
 */
export function rinexKind(line: string, file: string): RinexKind {
  const { text, label } = headerRecord(line);
  if (label.startsWith('CRINEX VERS'))
    fail('INPUT_NOT_TEXT', 'the file is in the compact form of RINEX (Hatanaka 2008)', {
      at: { file, line: 1 },
      hint: 'plain RINEX (.rnx or .YYo), compressed by gzip or zip or not at all',
    });
  const version = Number(text.slice(0, 9));
  if (label !== 'RINEX VERSION / TYPE' || !(version >= 2 && version < 5))
    fail('INPUT_ROW', 'the file does not begin as RINEX of version 2, 3 or 4 does', {
      at: { file, line: 1, column: 1 },
      sourceLine: line.slice(0, 80),
      hint: '     3.05           OBSERVATION DATA    M                   RINEX VERSION / TYPE',
    });
  return { version, type: text[20]!.toUpperCase(), system: text[40]!.toUpperCase() };
}

/** A number in a fixed field, with any of the letters of FORTRAN for the exponent; undefined where it is blank or none. */
export function fixed(text: string, from: number, width: number): number | undefined {
  const field = text.slice(from, from + width).trim();
  if (field === '') return undefined;
  if (!/^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eEdD][+-]?\d+)?$/.test(field)) return undefined;
  return Number(field.replace(/[dD]/, 'e'));
}

/** Calendar reading as milliseconds since 1970; undefined where it is none of the calendar. */
export function calendarMs(
  year: number | undefined,
  month: number | undefined,
  day: number | undefined,
  hour: number | undefined,
  minute: number | undefined,
  second: number | undefined,
): number | undefined {
  if (
    year === undefined ||
    month === undefined ||
    day === undefined ||
    hour === undefined ||
    minute === undefined ||
    second === undefined
  )
    return undefined;
  // RINEX 2 has two digits: 80 to 99 are of the last century.
  const full = year >= 100 ? year : year >= 80 ? 1900 + year : 2000 + year;
  const ms = Date.UTC(full, month - 1, day, hour, minute) + Math.round(second * 1000);
  const back = new Date(Date.UTC(full, month - 1, day));
  const valid =
    back.getUTCMonth() === month - 1 &&
    back.getUTCDate() === day &&
    hour >= 0 &&
    hour < 24 &&
    minute >= 0 &&
    second >= 0 &&
    minute < 60 &&
    second < 61 &&
    full >= 1980 &&
    full < 2100;
  return valid ? ms : undefined;
}

/** A satellite as it is named here; RINEX 2 leaves out the letter of GPS, and the leading zero. */
export function satelliteName(text: string): string | undefined {
  const match = /^([ GRECJIS])([ \d]\d)$/.exec(text);
  if (!match) return undefined;
  const number = Number(match[2]);
  return number === 0 ? undefined : `${match[1] === ' ' ? 'G' : match[1]!}${String(number).padStart(2, '0')}`;
}
