import { dayMs } from '@stillmark/records';
import type { Sentence } from './sentences.ts';

/** Sentences come late by less than this, milliseconds. */
export const latest = 3_600_000;

/** Milliseconds since midnight of `hhmmss.ss`; undefined where it is no time. */
export function timeOfDay(text: string | undefined): number | undefined {
  if (text === undefined || !/^\d{6}(?:\.\d*)?$/.test(text)) return undefined;
  const two = (from: number): number => 10 * (text.charCodeAt(from) - 48) + text.charCodeAt(from + 1) - 48;
  const [h, m, s] = [two(0), two(2), two(4)];
  if (h > 23 || m > 59 || s > 59) return undefined;
  return (
    (3600 * h + 60 * m + s) * 1000 + (text.length > 6 ? Math.round(1000 * Number(`0${text.slice(6)}`)) : 0)
  );
}

/** A date and a time of the day, as RMC and ZDA tell them: days since 1970, milliseconds since midnight. */
export interface ToldDate {
  readonly day: number;
  readonly ofDay: number;
}

/**
 * The date of an RMC or ZDA; undefined too where the receiver says itself that it is not sure (status V of RMC); `'none'` where it is not of the calendar, undefined where the receiver did not know it yet. RMC has two
 * digits of the year: 80 to 99 are of the last century.
 */
export function dateOf({ type, fields }: Sentence): ToldDate | 'none' | undefined {
  if (type === 'RMC' && fields[2] === 'V') return undefined;
  const match =
    type === 'RMC'
      ? /^(\d\d)(\d\d)(\d\d)$/.exec(fields[9] ?? '')
      : /^(\d\d) (\d\d) (\d{4})$/.exec(fields.slice(2, 5).join(' '));
  const ofDay = timeOfDay(fields[1]);
  if (ofDay === undefined || !match) return undefined;
  const [d, m, y] = match.slice(1).map(Number) as [number, number, number];
  const year = y >= 100 ? y : y < 80 ? 2000 + y : 1900 + y;
  const ms = Date.UTC(year, m - 1, d);
  if (new Date(ms).getUTCDate() !== d || new Date(ms).getUTCMonth() !== m - 1) return 'none';
  return { day: ms / dayMs, ofDay };
}

/** The day of sentences that tell the time of the day alone: it goes on where that begins again. */
export class DayCounter {
  day: number | undefined;
  #lastOfDay = -1;

  /** A time of day before the last one is that of the next day; sentences that come late by less than an hour are not. */
  dayAt(ofDay: number): number | undefined {
    return this.day !== undefined && ofDay < this.#lastOfDay - latest ? this.day + 1 : this.day;
  }

  pass(ofDay: number): void {
    this.day = this.dayAt(ofDay);
    this.#lastOfDay = ofDay;
  }

  set({ day, ofDay }: ToldDate): void {
    this.day = day;
    this.#lastOfDay = ofDay;
  }
}
