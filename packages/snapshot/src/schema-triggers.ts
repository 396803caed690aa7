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
