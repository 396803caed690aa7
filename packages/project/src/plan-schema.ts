import { z } from 'zod';
import { day } from './health-schema.ts';
import { duration, instant, length, signedLength } from './quantities.ts';
import { text } from './text-schema.ts';

const share = z.number().gt(0).lte(1);
const degrees = (most: number) => z.number().min(0).max(most);

/** What stands around an antenna: azimuth and elevation in turn. */
export const horizonSchema = z
  .array(z.tuple([degrees(360), degrees(90)]))
  .min(1, 'a horizon has at least one point')
  .refine((points) => points.every(([azimuth], i) => i === 0 || azimuth > points[i - 1]![0]), {
    error: 'the azimuths of a horizon ascend',
  })
  .describe('Degrees clockwise from north and above the horizon; straight lines lie between the points.');

const zoneRule = z.discriminatedUnion('kind', [
  z.strictObject({
    kind: z.literal('trough'),
    what: text,
    depth: length.describe('Of the axis of the tunnel or shaft.'),
    settlement: length.describe('Largest settlement that is expected over it.'),
    widthFactor: z.number().gt(0).lt(2).describe('0.4 to 0.6 in clay, 0.25 to 0.45 in sand.'),
    negligible: length.prefault('1 mm'),
  }),
  z.strictObject({
    kind: z.literal('angle of draw'),
    what: text,
    depth: length,
    angle: z.number().gt(0).lt(90).describe('Degrees from the vertical.'),
  }),
]);

const planned = z
  .strictObject({
    array: z.number().positive().describe('Watts.'),
    battery: z.number().positive().describe('Ampere-hours.'),
  })
  .optional();

export const planSchema = z
  .strictObject({
    start: day.optional().describe('When the first displacement is wanted.'),
    reference: duration.prefault('14 d').describe('Length of the reference period.'),
    installation: z
      .strictObject({ from: day, to: day })
      .optional()
      .describe('When the network is to be installed.'),
    orders: z
      .array(
        z.strictObject({
          what: text,
          ordered: day,
          lead: duration.describe('How long it takes to come.'),
          received: day.optional(),
        }),
      )
      .default([]),
    zone: z
      .strictObject({
        clearance: length
          .optional()
          .describe(
            'How far outside the zone of influence (areas of kind zone in the outline) bases must stand.',
          ),
        rules: z.array(zoneRule).default([]).describe('Reach of what settles the ground, by a stated rule.'),
      })
      .optional()
      .describe('The zone of influence: bases stand outside of it, monitoring stations inside.'),
    sky: z
      .strictObject({
        orbits: z.array(text).min(1).describe('YUMA almanacs or RINEX navigation files.'),
        from: instant.describe('Begin of the span that is looked at.'),
        span: duration.prefault('24 h'),
        step: duration.prefault('5 min'),
        mask: degrees(89).default(10).describe('Degrees above the horizon.'),
        satellites: z.number().int().min(4).default(6).describe('Fewest that are wanted at every time.'),
        pdop: z.number().positive().default(4).describe('Largest dilution that is borne.'),
      })
      .optional(),
    power: z
      .array(
        z.strictObject({
          of: z.string().describe('A station or a shared thing.'),
          load: z.number().positive('a load is more than nothing').describe('Mean load, watts.'),
          sunHours: z
            .number()
            .positive()
            .max(14)
            .describe('Sun of the worst month on the array: kWh/m2 a day.'),
          autonomy: duration.describe('How long the battery must last without sun.'),
          voltage: z.number().positive().default(12),
          depthOfDischarge: share.default(0.5),
          coldFactor: share.default(0.8).describe('What cold leaves of the capacity.'),
          arrayFactor: share.default(0.8).describe('What dirt, heat and wiring leave of the yield.'),
          efficiency: share.default(0.85),
          installed: planned,
        }),
      )
      .default([]),
    communications: z
      .array(
        z.strictObject({
          of: z.string().describe('A station or a shared thing.'),
          perStation: z.number().positive().describe('Data of a station, MB a day.'),
          plan: z.number().positive().describe('What the contract allows in 30 days, MB.'),
        }),
      )
      .default([]),
    storage: z
      .array(
        z.strictObject({
          of: z.string().describe('A station or a shared thing.'),
          perStation: z.number().positive().describe('What is written of a station, MB a day.'),
          free: z.number().positive().describe('Room for it, MB.'),
          keep: duration.describe('How long it must last until somebody takes it away.'),
        }),
      )
      .default([]),
    processing: z
      .strictObject({
        runTime: duration.describe('How long a processing run takes.'),
        stations: z
          .number()
          .int()
          .positive()
          .optional()
          .describe('With how many stations that was measured; all where it is missing.'),
      })
      .optional(),
    margin: z
      .number()
      .min(1)
      .default(2)
      .describe('How many times better than asked receivers are to be (two: common practice, no source).'),
    checklist: z
      .array(
        z.strictObject({
          what: text,
          done: day.optional(),
          by: text.optional(),
          result: text.optional(),
        }),
      )
      .default([])
      .describe('What is practised and checked before the network goes out, with dates and results.'),
    displacementTests: z
      .array(
        z.strictObject({
          station: z.string(),
          at: instant.describe(
            'When the antenna was moved on its stage; an event of kind instrument at that time.',
          ),
          set: z.strictObject({
            east: signedLength.prefault('0 mm'),
            north: signedLength.prefault('0 mm'),
            up: signedLength.prefault('0 mm'),
          }),
          by: text.optional(),
        }),
      )
      .default([])
      .describe(
        'Acceptance of the whole chain: an antenna is moved by a known amount, and what is reported is set against it.',
      ),
  })
  .describe('What is planned before anything moves.');
