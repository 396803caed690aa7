import { dayMs, type DutyRecord } from '@stillmark/records';
import type { Duty } from './schema.ts';

const dayOf = (ms: number): string => new Date(ms).toISOString().slice(0, 10);

/**
 * Duties at an instant, the first that is due first, those that are done for good last.
 *
 * A duty that comes again is done for all dates up to the day on which it was done, and for the next one where that is less than a quarter
 * of a period away: what is done two weeks early is not due two weeks later, and what is done late is due again on its old day.
 */
export function dutiesAt(duties: readonly Duty[], asOfMs: number): DutyRecord[] {
  const records = duties.map((duty): DutyRecord => {
    const { what, of, every, remind, responsible } = duty;
    const done = duty.done.filter((ms) => ms <= asOfMs).sort((a, b) => a - b);
    const last = done.at(-1);
    const next = nextOf(duty, last);
    const state =
      next === undefined
        ? 'done'
        : asOfMs >= next + dayMs
          ? 'overdue'
          : asOfMs >= next - remind
            ? 'soon'
            : 'ahead';
    return {
      what,
      ...(of === undefined ? {} : { of }),
      ...(next === undefined ? {} : { due: dayOf(next) }),
      ...(last === undefined ? {} : { last: dayOf(last) }),
      ...(every ? { every: `${every.count} ${every.unit}${every.count === 1 ? '' : 's'}` } : {}),
      remindDays: Math.ceil(remind / dayMs),
      ...(responsible === undefined ? {} : { responsible }),
      state,
    };
  });
  const key = ({ due, what }: DutyRecord): string => `${due ?? '9999'} ${what}`;
  return records.sort((a, b) => (key(a) < key(b) ? -1 : 1));
}

function nextOf({ due, every }: Duty, last: number | undefined): number | undefined {
  if (last === undefined) return due;
  if (!every) return undefined;
  let k = 0;
  while (at(due, every, k) - (at(due, every, k + 1) - at(due, every, k)) / 4 <= last) k++;
  return at(due, every, k);
}

/** The day so many periods after the first; of a month that is too short its last day. */
function at(due: number, { count, unit }: NonNullable<Duty['every']>, k: number): number {
  const n = k * count;
  if (unit === 'day' || unit === 'week') return due + n * (unit === 'week' ? 7 : 1) * dayMs;
  const first = new Date(due);
  const months = first.getUTCMonth() + n * (unit === 'year' ? 12 : 1);
  const year = first.getUTCFullYear();
  const lastDay = new Date(Date.UTC(year, months + 1, 0)).getUTCDate();
  return Date.UTC(year, months, Math.min(first.getUTCDate(), lastDay));
}
