import { dayMs } from '@stillmark/records';
import type { TimeSpan } from '@stillmark/snapshot/series';
import type { ZoneClock } from '@stillmark/wording';

const day = /^\d{4}-\d\d-\d\d$/;
const minute = /^\d{4}-\d\d-\d\dT\d\d:\d\dZ$/;

/** The span that two words name: days of the zone, each whole, or minutes of UTC. Undefined where they name none. */
export function spanOfLink(from: string, to: string, clock: ZoneClock): TimeSpan | undefined {
  const span =
    day.test(from) && day.test(to)
      ? { fromMs: startOfDay(from, 0, clock), toMs: startOfDay(to, 1, clock) }
      : minute.test(from) && minute.test(to)
        ? { fromMs: Date.parse(from), toMs: Date.parse(to) }
        : undefined;
  return span && span.toMs > span.fromMs ? span : undefined;
}

/** When a day of the zone begins, so many days after the one that is named: on days of a change of the clock they are not of 24 hours. */
function startOfDay(word: string, after: number, clock: ZoneClock): number {
  const wall = Date.parse(`${word}T00:00:00Z`) + after * dayMs;
  if (Number.isNaN(wall)) return wall;
  // The offset of midnight is that of the instant itself, not that of midnight in UTC.
  return wall - clock.offsetMs(wall - clock.offsetMs(wall));
}

/** The words of a span in a link: days where it is made of whole ones (or ends with the newest epoch), else minutes. */
export function wordsOfSpan(
  { fromMs, toMs }: TimeSpan,
  clock: ZoneClock,
  lastMs: number,
): { from: string; to: string } {
  const wall = (ms: number): string => new Date(ms + clock.offsetMs(ms)).toISOString();
  const midnight = (ms: number): boolean => wall(ms).endsWith('T00:00:00.000Z');
  if (midnight(fromMs) && (toMs > lastMs || midnight(toMs)))
    return { from: wall(fromMs).slice(0, 10), to: wall(Math.min(lastMs, toMs - 1)).slice(0, 10) };
  const utc = (ms: number): string => `${new Date(ms).toISOString().slice(0, 16)}Z`;
  return { from: utc(fromMs), to: utc(Math.ceil(toMs / 60_000) * 60_000) };
}
