import { z } from 'zod';
import { instant, vector } from './schema-parts.ts';

const sigmas = z.strictObject({
  east_mm: z.number(),
  north_mm: z.number(),
  up_mm: z.number(),
  eastSigma_mm: z.number(),
  northSigma_mm: z.number(),
  upSigma_mm: z.number(),
});

export const common = z
  .array(
    z.strictObject({
      stream: z.string(),
      base: z.string(),
      others: z.array(z.string()),
      stations: z.array(z.string()),
      hypotheses: z.array(
        z.strictObject({
          kind: z.enum(['nothing', 'base', 'structure']),
          alone: z.array(z.string()).describe('Stations that moved alone beside it.'),
          weight: z.number().min(0).max(1),
          common: sigmas.exactOptional(),
        }),
      ),
    }),
  )
  .describe('What explains the movements of each stream, the most probable first.');

export const closures = z
  .array(
    z.strictObject({
      id: z.string(),
      streams: z.tuple([z.string(), z.string()]),
      east_mm: z.number(),
      north_mm: z.number(),
      up_mm: z.number(),
      horizontal: vector.horizontal,
      up: vector.up,
    }),
  )
  .describe('Two streams of a station against each other, less what their bases do.');

export const surveys = z.array(
  z.strictObject({
    at: instant,
    station: z.string(),
    method: z.string(),
    by: z.string(),
    result: z.string(),
    components: z.array(
      z.strictObject({
        axis: z.enum(['east', 'north', 'up']),
        value_mm: z.number(),
        plusMinus_mm: z.number(),
        ours_mm: z.number().exactOptional(),
        oursPlusMinus_mm: z.number().exactOptional(),
        agrees: z.boolean().exactOptional(),
      }),
    ),
  }),
);
