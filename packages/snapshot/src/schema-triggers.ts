import { z } from 'zod';
import { count, instant } from './schema-parts.ts';

const state = z
  .strictObject({
    condition: z.enum(['measured', 'establishing', 'stale', 'no-data', 'in-doubt', 'ended']),
    level: count,
  })
  .describe('Number of the highest level that is reached, 0 where none is, and whether it can be relied on.');

const evaluation = z.strictObject({ at: instant, value: z.number(), plusMinus: z.number().exactOptional() });

const change = z.strictObject({
  at: instant,
  from: state,
  to: state,
  made: z.array(evaluation).describe('The newest means that made it.'),
  why: z.string().exactOptional(),
  acknowledged: z
    .array(z.strictObject({ by: z.string(), at: instant, comment: z.string().exactOptional() }))
    .exactOptional(),
});

export const triggers = z
  .array(
    z.strictObject({
      name: z.string(),
      quantity: z.enum([
        'horizontal',
        'east',
        'north',
        'longitudinal',
        'transverse',
        'up',
        'distance',
        'settlement',
        'tilt',
      ]),
      figures: z.enum(['raw', 'less response']),
      unit: z.enum(['mm', 'mm/30 d', 'mm/m']),
      windowMs: z.number().positive(),
      rateOverMs: z.number().positive().exactOptional(),
      basis: z.enum(['estimate', 'confident']),
      side: z.enum(['either', 'positive', 'negative']),
      persistence: z.strictObject({ needed: count, of: count }),
      release: z.number(),
      missing: z.strictObject({ means: z.enum(['passed over', 'against']), noDataAfterMs: z.number() }),
      from: instant.exactOptional(),
      to: instant.exactOptional(),
      levels: z.array(z.strictObject({ name: z.string(), at: z.number(), responsible: z.string() })),
      watched: z.array(
        z.strictObject({
          of: z.string(),
          stream: z.string(),
          state,
          since: instant.exactOptional(),
          newest: evaluation.exactOptional(),
          changes: z.array(change),
          reason: z.string().exactOptional(),
        }),
      ),
    }),
  )
  .describe('Levels that are watched, and the state of everything they watch, with every change of it.');

const delay = z
  .strictObject({ halfMs: z.number().exactOptional(), nineMs: z.number().exactOptional() })
  .describe('Until it is reported, in half and in nine of ten cases; absent where it is not found in time.');

export const alarmLoad = z
  .array(
    z.strictObject({
      quantity: z.enum(['horizontal', 'east', 'north', 'longitudinal', 'transverse', 'up']),
      side: z.enum(['either', 'positive', 'negative']),
      measured: z.array(z.string()),
      assumed: z.array(z.string()),
      left: z.array(z.string()),
      shared: z.number(),
      referenceDays: z.number(),
      months: z.number(),
      requirement: z.strictObject({
        falseAlarms: z.number(),
        step: z.strictObject({ size_mm: z.number(), withinMs: z.number() }).exactOptional(),
        ramp: z.strictObject({ mm_day: z.number(), withinMs: z.number() }).exactOptional(),
      }),
      candidates: z.array(
        z.strictObject({
          windowMs: z.number(),
          level_mm: z.number(),
          persistence: z.strictObject({ needed: count, of: count }),
          basis: z.enum(['estimate', 'confident']),
          release: z.number(),
          trigger: z.string().exactOptional(),
          network: z.number().describe('False alarms in 30 days of the whole network.'),
          median: z.number(),
          worst: z.number(),
          quiet: z.number().describe('Share of months in which no level was reached.'),
          messages: z.number().describe('Messages a day while nothing moves.'),
          step: delay.exactOptional(),
          ramp: delay.exactOptional(),
          meets: z.boolean(),
        }),
      ),
      recommended: count.exactOptional(),
      nearest: count.exactOptional(),
    }),
  )
  .describe('What alarms cost and find, by simulation.');
