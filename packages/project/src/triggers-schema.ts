import { z } from 'zod';
import { duration, instant, length, signedLength } from './quantities.ts';
import { text, title } from './text-schema.ts';

const stationQuantities = ['horizontal', 'east', 'north', 'longitudinal', 'transverse', 'up'] as const;
const pairQuantities = ['distance', 'settlement', 'tilt'] as const;

export type PairQuantity = (typeof pairQuantities)[number];

/** Whether a quantity is of two stations against each other. */
export function isOfPairs(quantity: string): quantity is PairQuantity {
  return (pairQuantities as readonly string[]).includes(quantity);
}

/** What a level is measured in: millimetres, millimetres in 30 days, millimetres in a metre. */
export type LevelUnit = 'mm' | 'mm/30 d' | 'mm/m';

const millimetres: Readonly<Record<string, number>> = { mm: 1, cm: 10, m: 1000 };
/** Into how many times 30 days go in a unit of time. */
const perThirtyDays: Readonly<Record<string, number>> = { d: 30, day: 30, month: 1, year: 30 / 365.25 };

/** A level with its unit: a length, a rate (a month is 30 days) or a tilt. */
const level = z
  .string()
  .transform((value, context): { readonly value: number; readonly unit: LevelUnit } => {
    const match = /^(\d+(?:\.\d+)?)\s*(mm|cm|m)(?:\s*\/\s*(d|day|month|year|m))?$/.exec(value.trim());
    const size = match ? Number(match[1]) * millimetres[match[2]!]! : 0;
    if (size > 0 && size <= 1e6) {
      const per = match![3];
      if (per === undefined) return { value: size, unit: 'mm' };
      if (per === 'm') return { value: size, unit: 'mm/m' };
      return { value: size * perThirtyDays[per]!, unit: 'mm/30 d' };
    }
    context.addIssue({ code: 'custom', message: `'${value}' is not a level` });
    return z.NEVER;
  })
  .meta({
    title: 'length, rate (a day, month, year) or tilt (mm/m)',
    examples: ['10 mm', '5 mm/month', '0.5 mm/m'],
  });

/** `2 of 3`. */
export const persistence = z
  .string()
  .transform((value, context): { readonly needed: number; readonly of: number } => {
    const match = /^(\d+)\s+of\s+(\d+)$/.exec(value.trim());
    const [needed, of] = match ? [Number(match[1]), Number(match[2])] : [0, 0];
    if (needed >= 1 && needed <= of && of <= 100) return { needed, of };
    context.addIssue({ code: 'custom', message: `'${value}' is not so many of so many means` });
    return z.NEVER;
  })
  .meta({ title: 'so many of so many', examples: ['1 of 1', '2 of 3', '4 of 4'] });

/** `80 %`, as a share. */
const percent = z
  .string()
  .transform((value, context) => {
    const match = /^(\d+(?:\.\d+)?)\s*%$/.exec(value.trim());
    const share = match ? Number(match[1]) / 100 : 0;
    if (share > 0 && share <= 1) return share;
    context.addIssue({ code: 'custom', message: `'${value}' is not a share of a level` });
    return z.NEVER;
  })
  .meta({ title: 'share in per cent', examples: ['80 %', '100 %'] });

export const basis = z.enum(['estimate', 'confident']);

export const triggerSchema = z.strictObject({
  name: title.describe('What it is called, on pages and in the log.'),
  quantity: z
    .enum([...stationQuantities, ...pairQuantities])
    .describe(
      'Of stations: horizontal (its size), east, north, longitudinal, transverse, up. Of pairs: distance (positive where it grows), settlement (up of the second less up of the first: negative where the second settles), tilt (settlement over distance).',
    ),
  stations: z
    .array(z.string())
    .min(1, 'a trigger watches at least one station')
    .optional()
    .describe('Stations that are watched; all monitoring stations unless said.'),
  pairs: z
    .array(z.string())
    .min(1, 'a trigger watches at least one pair')
    .optional()
    .describe('Pairs that are watched, by name; all of them unless said.'),
  stream: z
    .string()
    .optional()
    .describe('The stream whose figures are watched; that of each station unless said.'),
  rateOver: duration
    .optional()
    .describe('The levels are of the rate over a span of this length, and not of the movement.'),
  figures: z
    .enum(['raw', 'less response'])
    .default('raw')
    .describe(
      'less response: less the committed response to logs; where none is committed, nothing is watched.',
    ),
  side: z
    .enum(['either', 'positive', 'negative'])
    .default('either')
    .describe('negative: only down, left, shorter and the like.'),
  window: duration.prefault('24 h').describe('Length of the means that are watched, one after the other.'),
  basis: basis
    .default('confident')
    .describe('estimate: the figure passes the level. confident: the nearer end of its interval does.'),
  persistence: persistence
    .prefault('2 of 3')
    .describe('So many of the newest so many means must pass the level, the newest among them.'),
  release: percent
    .prefault('80 %')
    .describe('A level is left when as many means are below this share of it.'),
  missing: z
    .strictObject({
      means: z
        .enum(['passed over', 'against'])
        .default('passed over')
        .describe('against: a missing mean counts as one that did not pass a level, nor came below it.'),
      noDataAfter: duration.prefault('3 d').describe('Without means for so long, there is no data.'),
    })
    .prefault({})
    .describe('What a missing mean means.'),
  from: instant.optional().describe('The trigger counts from this time on.'),
  to: instant.optional().describe('The trigger counts until this time.'),
  levels: z
    .array(
      z.strictObject({
        name: title.describe('What the level is called.'),
        at: level.describe('The level: a length; with `rateOver` a rate; of tilt mm/m.'),
        responsible: text.describe('Role of who must act, one of those under `responsible`.'),
      }),
    )
    .min(1, 'a trigger has at least one level')
    .max(9, 'a trigger has at most nine levels')
    .describe('From the lowest to the highest.'),
});

export const acknowledgementSchema = z.strictObject({
  trigger: z.string().describe('Name of the trigger.'),
  of: z.string().describe('Station or pair.'),
  change: instant.describe('Time of the change of state, as the log gives it.'),
  by: text.describe('Who has seen it.'),
  at: instant.describe('When it was seen.'),
  comment: text.optional().describe('What they say of it; it stands in the log.'),
});

/** A rate in millimetres a day. */
const rate = level
  .refine(({ unit }) => unit === 'mm/30 d', { error: 'it is not a rate' })
  .transform(({ value }) => value / 30)
  .meta({ title: 'rate (a day, month, year)', examples: ['0.5 mm/d', '5 mm/month'] });

/** A size that may be nothing, in metres. */
const notNegative = signedLength
  .refine((v) => v >= 0, { error: 'it is negative' })
  .meta({ title: 'length (mm, cm, m), or 0 mm', examples: ['1.4 mm', '0 mm'] });

const noise = z.strictObject({
  white: notNegative.describe('One sigma of a mean of statements, white noise alone.'),
  flicker: notNegative.describe('Amplitude of flicker noise, in mm per year to the power of one quarter.'),
});

/** Noise that is expected before it is measured. */
export const assumedNoiseSchema = z.strictObject({
  horizontal: noise.describe('Of east and of north.'),
  up: noise.describe('Of up.'),
  source: text.describe('Where the figures are from.'),
});

export const alarmLoadSchema = z.strictObject({
  quantity: z.enum(stationQuantities).describe('What is watched, as of triggers.'),
  side: z.enum(['either', 'positive', 'negative']).default('either').describe('As of triggers.'),
  falseAlarms: z
    .number()
    .positive()
    .max(1000)
    .describe('So many false alarms in 30 days are borne, of all monitoring stations together.'),
  step: z
    .strictObject({
      size: length.describe('How large it is.'),
      within: duration.describe('So soon it must be reported.'),
    })
    .optional()
    .describe('A sudden movement that must be reported in time in nine of ten cases.'),
  ramp: z
    .strictObject({
      rate: rate.describe('How fast it is.'),
      within: duration.describe('So soon it must be reported.'),
    })
    .optional()
    .describe('A steady movement that must be reported in time in nine of ten cases.'),
  windows: z.array(duration).min(1).max(6).prefault(['6 h', '12 h', '24 h']).describe('Lengths of means.'),
  levels: z.array(length).min(1).max(10).describe('Levels that come into question.'),
  persistence: z
    .array(persistence)
    .min(1)
    .max(8)
    .prefault(['1 of 1', '2 of 3', '3 of 4'])
    .describe('What persistence comes into question, as of triggers.'),
  basis: z.array(basis).min(1).default(['estimate', 'confident']).describe('What basis comes into question.'),
});
