import { z } from 'zod';
import { duration } from './quantities.ts';
import { nameKind, text, title } from './text-schema.ts';

/** A day of the calendar, as milliseconds of its begin in UTC. */
export const day = z
  .string()
  .transform((value, context) => {
    const ms = /^\d{4}-\d{2}-\d{2}$/.test(value) ? Date.parse(`${value}T00:00:00Z`) : Number.NaN;
    if (!Number.isNaN(ms) && new Date(ms).toISOString().startsWith(value)) return ms;
    context.addIssue({ code: 'custom', message: `'${value}' is not a day` });
    return z.NEVER;
  })
  .meta({ title: 'day', examples: ['2026-12-15'] });

/** A time between duties, counted by the calendar. */
const recurrence = z
  .string()
  .transform((value, context) => {
    const match = /^(\d{1,3})\s*(days?|weeks?|months?|years?)$/.exec(value.trim());
    const count = Number(match?.[1] ?? 0);
    if (count > 0) return { count, unit: match![2]!.replace(/s$/, '') as 'day' | 'week' | 'month' | 'year' };
    context.addIssue({ code: 'custom', message: `'${value}' is not a time between duties` });
    return z.NEVER;
  })
  .meta({
    title: 'time by the calendar (days, weeks, months, years)',
    examples: ['12 months', '1 year', '90 days'],
  });

export const trackingSchema = z.strictObject({
  name: z
    .string()
    .regex(
      /^[A-Za-z0-9][A-Za-z0-9_-]{0,23}$/,
      'a name of a source is 1 to 24 letters, digits, hyphens or underscores',
    )
    .meta({ title: nameKind })
    .describe('What the source is called on pages.'),
  format: z
    .enum(['rinex', 'nmea'])
    .describe('rinex: observation files. nmea: logs of receivers with GSV, GSA and GGA.'),
  files: z.array(text).min(1).describe('Paths inside the project folder, as of streams.'),
  sites: z
    .record(z.string(), text)
    .optional()
    .describe(
      'The pattern of the files of each station; without it the marker name of a RINEX file is the id of its station.',
    ),
  orbits: z
    .array(text)
    .default([])
    .describe(
      'RINEX navigation files and YUMA almanacs: they tell what stood above the mask. Of NMEA the receiver does.',
    ),
  mask: z
    .number()
    .min(0)
    .lt(90)
    .default(10)
    .meta({ title: 'angle in degrees' })
    .describe('Elevation above the horizon below which no satellite is expected.'),
  qualities: z
    .array(z.number().int().min(1).max(8))
    .min(1)
    .default([4])
    .describe('Of NMEA: the qualities of GGA that count as fixed.'),
});

export const sharedSchema = z.strictObject({
  name: title.describe('What it is called, here and on pages.'),
  what: text.describe('Such as router and SIM of the left bank.'),
  stations: z.array(z.string()).min(1, 'at least one station hangs on it').describe('What hangs on it.'),
});

export const dutySchema = z.strictObject({
  what: text.max(120).describe('Such as renew the contract of the SIM, calibrate, visit.'),
  of: z.string().optional().describe('A station or a shared thing; the whole project unless said.'),
  due: day.describe('When it is due for the first time.'),
  every: recurrence.optional().describe('Time after which it is due again.'),
  done: z.array(day).default([]).describe('When it was done.'),
  remind: duration.prefault('14 d').describe('How long before it is due somebody should be told.'),
  responsible: z.string().optional().describe('A role of `responsible`.'),
});

/** What a sensor says of the health of the network. */
export const healthOfSensorSchema = z
  .strictObject({
    kind: z
      .enum(['battery', 'data', 'storage', 'temperature'])
      .describe(
        'battery: its voltage. data: what was used of a data plan since it began anew. storage: what is free. temperature: of the air, to know of ice.',
      ),
    of: z.string().optional().describe('The station or the shared thing whose it is.'),
    least: z
      .number()
      .optional()
      .describe(
        'Of a battery the value at which it is cut off, of storage the least that must be free; in its unit.',
      ),
    plan: z
      .number()
      .positive()
      .optional()
      .describe('Of data: what may be used until the plan begins anew; in its unit.'),
    resets: z
      .number()
      .int()
      .min(1)
      .max(28)
      .optional()
      .describe('Of data: the day of the month on which the plan begins anew.'),
  })
  .describe('What the readings say of the health of the network.');
