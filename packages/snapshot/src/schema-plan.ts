import { z } from 'zod';
import { count, instant } from './schema-parts.ts';

const share = z.number().min(0).max(1);
const day = z.iso.date();
const optional = z.number().exactOptional();

const sky = z.strictObject({
  horizon: z.array(z.number()).describe('Azimuth and elevation in turn, degrees.'),
  within: share.describe('Share of the time within the limits.'),
  fewest: count,
  mean: z.number(),
  medianPdop: optional,
  highPdop: optional,
  worst: z.strictObject({ from: instant, within: share, pdop: optional }),
  satellites: z.array(count.nullable()),
  pdop: z.array(z.number().nullable()),
});

export const plan = z
  .strictObject({
    start: z
      .strictObject({
        wanted: day,
        earliest: day,
        roomDays: z.number().int(),
        referenceDays: count,
        ready: day,
        late: z.string().exactOptional(),
      })
      .exactOptional(),
    figures: z.array(
      z.strictObject({
        afterDays: z.number(),
        horizontalPlusMinus_mm: z.number(),
        horizontalDetectable_mm: z.number(),
        upPlusMinus_mm: z.number(),
        upDetectable_mm: z.number(),
      }),
    ),
    noiseSource: z.string().exactOptional(),
    specification: z
      .strictObject({
        asked: z.strictObject({ horizontal_mm: z.number(), up_mm: z.number() }),
        askedFrom: z.enum(['accuracy', 'movement']),
        wantedMargin: z.number(),
        stations: z.array(
          z.strictObject({
            id: z.string(),
            base: z.string(),
            length_m: z.number(),
            horizontal_mm: z.number(),
            up_mm: z.number(),
            margin: z.number(),
          }),
        ),
      })
      .exactOptional(),
    stations: z.array(
      z.strictObject({
        id: z.string(),
        role: z.enum(['base', 'monitoring']),
        clearance_m: optional.describe('Distance from the edge of the zone of influence: negative inside.'),
        baselines: z.array(
          z.strictObject({
            base: z.string(),
            length_m: z.number(),
            heightDifference_m: z.number(),
            budget: z.strictObject({ horizontal_mm: z.number(), up_mm: z.number() }).exactOptional(),
          }),
        ),
        sky: sky.exactOptional(),
      }),
    ),
    geometry: z
      .strictObject({ bases: count, largestGapDeg: z.number(), surrounded: z.boolean() })
      .exactOptional(),
    clearance_m: optional,
    zones: z.array(
      z.strictObject({ what: z.string(), kind: z.enum(['trough', 'angle of draw']), reach_m: z.number() }),
    ),
    failures: z.array(
      z.strictObject({
        of: z.string(),
        kind: z.enum(['base', 'shared']),
        streams: z.array(z.string()),
        weakened: z.array(z.string()),
        dark: z.array(z.string()),
        basesLeft: count,
      }),
    ),
    sky: z
      .strictObject({
        from: instant,
        spanMs: z.number(),
        stepMs: z.number(),
        drawnStepMs: z.number(),
        maskDeg: z.number(),
        knownShare: share,
        limits: z.strictObject({ satellites: count, pdop: z.number() }),
        constellations: z.array(z.strictObject({ system: z.string(), satellites: count })),
        tracks: z.array(z.array(z.number())),
      })
      .exactOptional(),
    power: z.array(
      z.strictObject({
        of: z.string(),
        load_W: z.number(),
        sunHours: z.number(),
        autonomyDays: z.number(),
        energy_Wh: z.number(),
        array_W: z.number(),
        battery_Ah: z.number(),
        voltage: z.number(),
        installed: z
          .strictObject({
            array_W: z.number(),
            battery_Ah: z.number(),
            arrayMargin: z.number(),
            autonomyDays: z.number(),
          })
          .exactOptional(),
      }),
    ),
    communications: z.array(
      z.strictObject({ of: z.string(), stations: count, needed_MB: z.number(), plan_MB: z.number() }),
    ),
    storage: z.array(
      z.strictObject({
        of: z.string(),
        stations: count,
        daily_MB: z.number(),
        free_MB: z.number(),
        days: z.number(),
        keepDays: z.number(),
      }),
    ),
    processing: z
      .strictObject({
        intervalMs: z.number(),
        runMs: z.number(),
        stations: count,
        measuredWith: count.exactOptional(),
      })
      .exactOptional(),
    checklist: z.array(
      z.strictObject({
        what: z.string(),
        done: day.exactOptional(),
        by: z.string().exactOptional(),
        result: z.string().exactOptional(),
      }),
    ),
    displacementTests: z.array(
      z.strictObject({
        station: z.string(),
        at: instant,
        by: z.string().exactOptional(),
        set: z.strictObject({ east_mm: z.number(), north_mm: z.number(), up_mm: z.number() }),
        reported: z
          .strictObject({
            east_mm: z.number(),
            north_mm: z.number(),
            up_mm: z.number(),
            horizontalPlusMinus_mm: z.number(),
            upPlusMinus_mm: z.number(),
            agrees: z.boolean(),
          })
          .exactOptional(),
        lacking: z.enum(['positions', 'event', 'days']).exactOptional(),
      }),
    ),
  })
  .describe('What was planned before anything moved, and what came of it.');
