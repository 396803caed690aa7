import { createHash } from 'node:crypto';
import type { DutyRecord, Snapshot } from '@stillmark/records';
import ical, { ICalAlarmType, ICalEventRepeatingFreq } from 'ical-generator';

const frequencies: Readonly<Record<string, ICalEventRepeatingFreq>> = {
  day: ICalEventRepeatingFreq.DAILY,
  week: ICalEventRepeatingFreq.WEEKLY,
  month: ICalEventRepeatingFreq.MONTHLY,
  year: ICalEventRepeatingFreq.YEARLY,
};

/**
 * The duties that are still to be done as a calendar (RFC 5545): whole days, those that come again repeated, each with a reminder. The same
 * duty has the same identifier in every snapshot, so that a calendar that reads the file again moves it.
 */
export function dutiesCalendar({
  project,
  health,
  asOf,
}: Pick<Snapshot, 'project' | 'health' | 'asOf'>): string {
  const calendar = ical({
    name: `Duties of ${project.title}`,
    prodId: { company: 'Stillmark', product: 'duties', language: 'EN' },
  });
  const seen = new Map<string, number>();
  for (const duty of health.duties) {
    if (duty.due === undefined) continue;
    const event = calendar.createEvent({
      id: identifier(project.title, duty, seen),
      stamp: new Date(asOf),
      start: new Date(`${duty.due}T00:00:00Z`),
      allDay: true,
      summary: duty.of === undefined ? duty.what : `${duty.what} (${duty.of})`,
      description: descriptionOf(project.title, duty),
      ...(duty.every === undefined || isClamped(duty) ? {} : { repeating: repetition(duty.every) }),
    });
    if (duty.remindDays > 0)
      event.createAlarm({
        type: ICalAlarmType.display,
        description: duty.what,
        triggerBefore: duty.remindDays * 86_400,
      });
  }
  // Every line has its end, the last one too (RFC 5545, 3.1); the library leaves that out.
  return `${calendar.toString()}\r\n`;
}

function repetition(every: string): { freq: ICalEventRepeatingFreq; interval: number } {
  const [count, unit] = every.split(' ') as [string, string];
  return { freq: frequencies[unit.replace(/s$/, '')]!, interval: Number(count) };
}

function descriptionOf(title: string, { responsible, last }: DutyRecord): string {
  return [
    title,
    ...(responsible === undefined ? [] : [`Responsible: ${responsible}`]),
    ...(last === undefined ? [] : [`Last done: ${last}`]),
  ].join('. ');
}

/** A rule that begins on the 28th goes on on the 28th: of days that a short month may have moved only the next date is told. */
function isClamped({ due, every }: DutyRecord): boolean {
  return due !== undefined && Number(due.slice(8)) >= 28 && /month|year/.test(every ?? '');
}

/** From what the duty is, not from when it is due; of duties of the same words in their order. */
function identifier(
  title: string,
  { what, of = '', every = '' }: DutyRecord,
  seen: Map<string, number>,
): string {
  const key = JSON.stringify(['duty', title, what, of, every]);
  const number = seen.get(key) ?? 0;
  seen.set(key, number + 1);
  const hash = createHash('sha256')
    .update(number === 0 ? key : `${key} ${number}`)
    .digest('hex');
  return `${hash.slice(0, 32)}@stillmark.invalid`;
}
