import { fail, type Problem } from '@stillmark/problems';
import type { Snapshot } from '@stillmark/records';
import { z } from 'zod';
import {
  acceleration,
  decisions,
  heights,
  ontoStable,
  pairs,
  profiles,
  readiness,
  response,
  stability,
  trajectory,
  waves,
} from './schema-over-time.ts';
import { closures, common, surveys } from './schema-evidence.ts';
import { health } from './schema-health.ts';
import { plan } from './schema-plan.ts';
import { alarmLoad, triggers } from './schema-triggers.ts';
import { background, outline } from './schema-map.ts';
import { count, eventKind, instant, rate, span, vector } from './schema-parts.ts';

const problemSchema = z.strictObject({
  code: z.string() as unknown as z.ZodType<Problem['code']>,
  severity: z.enum(['error', 'warning']),
  message: z.string(),
  hint: z.string().exactOptional(),
  at: z
    .strictObject({ file: z.string(), line: count.exactOptional(), column: count.exactOptional() })
    .exactOptional(),
  seen: z.string().exactOptional(),
  allowed: z.array(z.string()).exactOptional(),
  sourceLine: z.string().exactOptional(),
});

const noise = z
  .strictObject({
    white_mm: z.number(),
    flicker_mm: z.number(),
    formal_mm: z.number(),
    scatter_mm: z.number(),
  })
  .describe(
    'Noise of window solutions in the reference period: white in mm, flicker in mm per year to the 1/4.',
  );

const delivered = z
  .strictObject({ name: z.string(), epoch: z.number().exactOptional() })
  .exactOptional()
  .describe('Frame in which the positions were delivered, where they were brought to that of the project.');

const displacement = z
  .strictObject({
    kind: z.literal('displacement'),
    window: z.strictObject({ ...span, epochs: count, windows: count }),
    ...vector,
    rate: rate.exactOptional(),
    noise: z.strictObject({ east: noise, north: noise, up: noise }),
  })
  .describe('Position of the present minus reference position.');

const statement = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('held') }),
  z.strictObject({ kind: z.literal('no-data') }),
  z.strictObject({ kind: z.literal('establishing'), observedDays: z.number(), neededDays: z.number() }),
  z.strictObject({ kind: z.literal('not-statable'), reason: z.string() }),
  displacement,
]);

const streamView = {
  stream: z
    .discriminatedUnion('kind', [
      z.strictObject({
        name: z.string(),
        kind: z.literal('relative'),
        base: z.string(),
        solution: z.enum(['epoch-wise', 'filtered']),
        delivered,
        baselineLength_m: z.number(),
        heightDifference_m: z.number(),
      }),
      z.strictObject({
        name: z.string(),
        kind: z.literal('absolute'),
        solution: z.enum(['epoch-wise', 'filtered']),
        delivered,
        plate: z.strictObject({ model: z.string(), code: z.string(), name: z.string(), epoch: z.number() }),
      }),
    ])
    .exactOptional(),
  data: z
    .strictObject({
      epochs: count,
      first: instant,
      last: instant,
      completeness: z.number().min(0).max(1),
      spacingMs: z.number().positive(),
      outliers: count,
      conflicts: count,
      unconfirmed: z.array(z.strictObject({ ...span, epochs: count })),
      sidereal: z
        .strictObject({ days: count, east: z.number(), north: z.number(), up: z.number() })
        .exactOptional()
        .describe('Gain of the filter of repeating multipath.'),
      late: z.boolean(),
    })
    .exactOptional(),
  reference: z
    .strictObject({
      ...span,
      by: z.string(),
      committed: instant,
      windows: count,
      epochs: count,
      despite: z.string().exactOptional(),
    })
    .exactOptional(),
  statement,
  ties: z
    .array(
      z.strictObject({
        at: instant,
        what: z.string(),
        east_mm: z.number(),
        north_mm: z.number(),
        up_mm: z.number(),
        horizontalPlusMinus_mm: z.number(),
        upPlusMinus_mm: z.number(),
      }),
    )
    .describe('Steps that are no movement and are taken off the figures.'),
  readiness: readiness.exactOptional(),
  trajectory: trajectory.exactOptional(),
  acceleration: acceleration.exactOptional(),
  response: response.exactOptional(),
  noResponse: z.string().exactOptional().describe('Why nothing can be told of what logs do.'),
  waves: waves.exactOptional(),
  untied: z
    .array(z.strictObject({ at: instant, what: z.string() }))
    .exactOptional()
    .describe('Changes of the processing that no event ties: figures are in doubt.'),
  ontoStable: ontoStable
    .exactOptional()
    .describe('From the bases that stand still, where its own base does not.'),
  series: z
    .strictObject({
      epochs: z.string(),
      windows: z.string(),
      levels: z
        .array(z.strictObject({ binMs: z.number(), path: z.string() }))
        .exactOptional()
        .describe('Of long series the least and the greatest epochs in bins, from short ones to long ones.'),
      script: z
        .string()
        .exactOptional()
        .describe(
          'Means, and epochs or a level of them, as a script for pages that are opened from a folder.',
        ),
    })
    .exactOptional(),
};

const station = z.strictObject({
  id: z.string(),
  role: z.enum(['base', 'monitoring']),
  on: z.string(),
  antenna: z.string().exactOptional(),
  monument: z.strictObject({ type: z.string(), height_m: z.number().exactOptional() }).exactOptional(),
  installed: instant.exactOptional(),
  position: z.strictObject({
    latitudeDeg: z.number(),
    longitudeDeg: z.number(),
    height_m: z.number(),
    east_m: z.number(),
    north_m: z.number(),
    up_m: z.number(),
  }),
  onMap: z
    .strictObject({
      of: z.enum(['reference', 'held', 'approximate']),
      easting: z.number(),
      northing: z.number(),
      height_m: z.number(),
      convergenceDeg: z.number().describe('Azimuth of grid north, clockwise from true north.'),
      meridianScale: z.number(),
      parallelScale: z.number(),
      site: z.strictObject({ x: z.number(), y: z.number() }).exactOptional(),
    })
    .exactOptional(),
  ...streamView,
  budget: z
    .strictObject({ horizontal_mm: z.number(), up_mm: z.number(), source: z.string() })
    .exactOptional(),
  others: z.array(z.strictObject(streamView)).describe('The same antenna as other processings see it.'),
});

export const snapshotSchema = z
  .strictObject({
    format: z.literal('stillmark-snapshot'),
    version: z.literal(1),
    producer: z.strictObject({ name: z.string(), version: z.string() }),
    asOf: instant,
    validUntil: instant,
    project: z.strictObject({
      title: z.string(),
      purpose: z.string().exactOptional(),
      timeZone: z.string(),
      frame: z.strictObject({ name: z.string(), ellipsoid: z.string(), epoch: z.string().exactOptional() }),
      processingIntervalMs: z.number().positive(),
      requirement: z.strictObject({
        horizontal_mm: z.number(),
        up_mm: z.number(),
        accuracy: z.strictObject({ horizontal_mm: z.number(), up_mm: z.number() }).exactOptional(),
      }),
      responsible: z.array(z.strictObject({ role: z.string(), name: z.string() })),
      events: z.array(
        z.strictObject({
          at: instant,
          what: z.string(),
          kind: eventKind,
          station: z.string().exactOptional(),
          stream: z.string().exactOptional(),
        }),
      ),
      axes: z
        .strictObject({ longitudinalAzimuthDeg: z.number(), transverse: z.string().exactOptional() })
        .exactOptional(),
      grid: z
        .strictObject({
          projection: z.string(),
          unit: z.string(),
          frame: z.string(),
          epoch: z.number().exactOptional(),
          site: z
            .strictObject({ name: z.string(), bearingDeg: z.number(), scale: z.number() })
            .exactOptional(),
        })
        .exactOptional(),
    }),
    settings: z.strictObject({
      confidence: z.number(),
      familySignificance: z.number(),
      power: z.number(),
      windowMs: z.number(),
      statementMs: z.number(),
      rateMs: z.number(),
      sidereal: z.strictObject({ days: count, repeatSeconds: z.number() }).exactOptional(),
    }),
    headline: z.strictObject({
      moved: z.array(z.string()),
      still: z.array(z.string()),
      open: z.array(z.string()),
      doubted: z.array(z.string()),
      tests: count,
    }),
    network: z.strictObject({
      held: z.array(z.string()),
      pairs: z.array(z.strictObject({ held: z.string(), seen: z.string(), stream: z.string() })),
      stability: stability.exactOptional(),
      untested: z.string().exactOptional().describe('Why the bases cannot be tested against each other.'),
      common,
      closures,
      surveys,
      decisions,
    }),
    map: z.strictObject({
      origin: z.strictObject({ latitudeDeg: z.number(), longitudeDeg: z.number(), height_m: z.number() }),
      outline,
      background: background.exactOptional(),
    }),
    stations: z.array(station),
    heights,
    pairs,
    profiles,
    triggers,
    alarmLoad,
    health,
    plan,
    sensors: z.array(
      z.strictObject({
        name: z.string(),
        what: z.string(),
        unit: z.string(),
        readings: count,
        first: instant.exactOptional(),
        last: instant.exactOptional(),
        series: z.string().exactOptional(),
        script: z
          .string()
          .exactOptional()
          .describe('The same as a script, for pages that are opened from a folder.'),
      }),
    ),
    inputs: z.array(
      z.strictObject({
        path: z.string(),
        sha256: z.string().regex(/^[0-9a-f]{64}$/),
        rows: count.exactOptional(),
      }),
    ),
    doubts: z.array(problemSchema),
  })
  .describe('State of a GNSS monitoring network as of one instant, with everything its site shows.');

/** JSON Schema (2020-12) of `snapshot.json`. */
export function snapshotJsonSchema(): Record<string, unknown> {
  return z.toJSONSchema(snapshotSchema) as Record<string, unknown>;
}

/**
 * Reads `snapshot.json`.
 *
 * @throws SNAPSHOT_FORMAT where the text is not a snapshot of this version
 */
export function parseSnapshot(text: string, file = 'snapshot.json'): Snapshot {
  let value: unknown;
  try {
    value = JSON.parse(text);
  } catch (error) {
    return fail('SNAPSHOT_FORMAT', `not JSON: ${(error as Error).message}`, { at: { file } });
  }
  const result = snapshotSchema.safeParse(value);
  if (result.success) return result.data;
  const [issue] = result.error.issues;
  return fail('SNAPSHOT_FORMAT', `not a snapshot of version 1: ${issue!.path.join('.')}: ${issue!.message}`, {
    at: { file },
  });
}

/**
 * The text of `snapshot.json`. Checked against the schema, so that nothing is published that could not be read again;
 * numbers are rounded to what can be meant (1e-6 mm), so that the last bits of a processor do not show.
 */
export function serialiseSnapshot(snapshot: Snapshot): string {
  snapshotSchema.parse(snapshot);
  return `${JSON.stringify(snapshot, (_, value: unknown) => (typeof value === 'number' ? significant(value) : value), 1)}\n`;
}

/** Ten significant digits: below every uncertainty, above the last bits in which machines may differ. */
function significant(value: number): number {
  return Number.isInteger(value) ? value : Number(value.toPrecision(10));
}
