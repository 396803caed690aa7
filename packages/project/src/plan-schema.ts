import { z } from 'zod';
import { day } from './health-schema.ts';
import { duration, instant, length, signedLength } from './quantities.ts';
import { text } from './text-schema.ts';

const share = z.number().gt(0).lte(1);
const degrees = (most: number) => z.number().min(0).max(most).meta({ title: 'angle in degrees' });
const positive = (unit: string) => z.number().positive().meta({ title: unit });

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
    kind: z.literal('trough').describe('The trough of settlement over a tunnel or shaft.'),
    what: text.describe('What settles the ground.'),
    depth: length.describe('Of the axis of the tunnel or shaft.'),
    settlement: length.describe('Largest settlement that is expected over it.'),
    widthFactor: z
      .number()
      .gt(0)
      .lt(2)
      .describe('Width of the trough for its depth: 0.4 to 0.6 in clay, 0.25 to 0.45 in sand.'),
    negligible: length.prefault('1 mm').describe('Settlement that counts as none: the zone ends there.'),
  }),
  z.strictObject({
    kind: z.literal('angle of draw').describe('As far as an angle from the vertical reaches from a depth.'),
    what: text.describe('What moves the ground.'),
    depth: length.describe('Of its foot.'),
    angle: z.number().gt(0).lt(90).meta({ title: 'angle in degrees' }).describe('From the vertical.'),
  }),
]);

const planned = z
  .strictObject({
    array: positive('power in watts').describe('Peak power of the solar array.'),
    battery: positive('charge in ampere-hours').describe('Capacity of the battery.'),
  })
  .optional()
  .describe('What is installed, to be set against what is needed.');

export const planSchema = z
  .strictObject({
    start: day.optional().describe('When the first displacement is wanted.'),
    reference: duration.prefault('14 d').describe('Length of the reference period.'),
    installation: z
      .strictObject({ from: day.describe('First day.'), to: day.describe('Last day.') })
      .optional()
      .describe('When the network is to be installed.'),
    orders: z
      .array(
        z.strictObject({
          what: text.describe('What is ordered.'),
          ordered: day.describe('When it was ordered.'),
          lead: duration.describe('How long it takes to come.'),
          received: day.optional().describe('When it came.'),
        }),
      )
      .default([])
      .describe('What must come before the network can be installed.'),
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
        span: duration.prefault('24 h').describe('Its length.'),
        step: duration.prefault('5 min').describe('Time between the instants that are looked at.'),
        mask: degrees(89).default(10).describe('Elevation above the horizon from which satellites count.'),
        satellites: z.number().int().min(4).default(6).describe('Fewest that are wanted at every time.'),
        pdop: z
          .number()
          .positive()
          .default(4)
          .describe('Largest dilution of precision (PDOP) that is borne.'),
      })
      .optional()
      .describe('What each antenna sees of the sky behind its horizon.'),
    power: z
      .array(
        z.strictObject({
          of: z.string().describe('A station or a shared thing.'),
          load: z
            .number()
            .positive('a load is more than nothing')
            .meta({ title: 'power in watts' })
            .describe('Mean load.'),
          sunHours: z
            .number()
            .positive()
            .max(14)
            .meta({ title: 'kWh/m2 a day' })
            .describe('Sun of the worst month on the plane of the array.'),
          autonomy: duration.describe('How long the battery must last without sun.'),
          voltage: positive('voltage in volts').default(12).describe('Of the battery.'),
          depthOfDischarge: share.default(0.5).describe('Share of the capacity that may be used.'),
          coldFactor: share.default(0.8).describe('What cold leaves of the capacity.'),
          arrayFactor: share.default(0.8).describe('What dirt, heat and wiring leave of the yield.'),
          efficiency: share.default(0.85).describe('What charging and conversion leave.'),
          installed: planned,
        }),
      )
      .default([])
      .describe('Solar power: what is needed, by the worst month and days without sun.'),
    communications: z
      .array(
        z.strictObject({
          of: z.string().describe('A station or a shared thing.'),
          perStation: positive('MB a day').describe('Data of a station.'),
          plan: positive('MB in 30 days').describe('What the contract allows.'),
        }),
      )
      .default([])
      .describe('Data of stations against what the contract allows.'),
    storage: z
      .array(
        z.strictObject({
          of: z.string().describe('A station or a shared thing.'),
          perStation: positive('MB a day').describe('What is written of a station.'),
          free: positive('MB').describe('Room for it.'),
          keep: duration.describe('How long it must last until somebody takes it away.'),
        }),
      )
      .default([])
      .describe('Room for what is written, against how long it must last.'),
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
      .optional()
      .describe('Whether a processing run ends before the next one begins.'),
    margin: z
      .number()
      .min(1)
      .default(2)
      .describe('How many times better than asked receivers are to be (two: common practice, no source).'),
    checklist: z
      .array(
        z.strictObject({
          what: text.describe('What is to be done.'),
          done: day.optional().describe('When it was done; not yet where it is missing.'),
          by: text.optional().describe('Who did it, or is to.'),
          result: text.optional().describe('What came of it.'),
        }),
      )
      .default([])
      .describe('What is practised and checked before the network goes out, with dates and results.'),
    displacementTests: z
      .array(
        z.strictObject({
          station: z.string().describe('Whose antenna was moved.'),
          at: instant.describe(
            'When the antenna was moved on its stage; an event of kind instrument at that time.',
          ),
          set: z
            .strictObject({
              east: signedLength.prefault('0 mm').describe('To the east.'),
              north: signedLength.prefault('0 mm').describe('To the north.'),
              up: signedLength.prefault('0 mm').describe('Upwards.'),
            })
            .describe('By how much it was moved.'),
          by: text.optional().describe('Who moved it.'),
        }),
      )
      .default([])
      .describe(
        'Acceptance of the whole chain: an antenna is moved by a known amount, and what is reported is set against it.',
      ),
  })
  .describe('What is planned before anything moves.');
