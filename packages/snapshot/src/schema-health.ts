import { z } from 'zod';
import { count, instant, span } from './schema-parts.ts';

const share = z.number().min(0).max(1);
const day = z.iso.date();

const figures = z.strictObject({
  hours: count,
  satellites: z.number().describe('Satellites at a time.'),
  trackedShare: share
    .exactOptional()
    .describe('Share of the healthy satellites above the mask that were tracked.'),
  completeness: z.number().exactOptional(),
  fixRate: share.exactOptional(),
  pdop: z.number().exactOptional(),
  slips: z.number().exactOptional().describe('Losses of the carrier for a thousand epochs of a satellite.'),
});

const tracking = z.strictObject({
  source: z.string(),
  newest: instant,
  recent: figures,
  before: figures.exactOptional(),
  constellations: z.array(
    z.strictObject({
      system: z.string(),
      seen: z.array(z.string()),
      missing: z.array(z.string()).describe('Satellites that other stations tracked.'),
      trackedShare: share.exactOptional(),
      signals: z.array(
        z.strictObject({
          signal: z.string().describe('As RINEX names it; empty where the receiver does not say.'),
          satellites: count,
          cn0: z.number().exactOptional().describe('Carrier to noise density, dB-Hz.'),
          cn0Before: z.number().exactOptional(),
          multipath_m: z.number().exactOptional(),
          multipathBefore_m: z.number().exactOptional(),
        }),
      ),
    }),
  ),
});

const evidence = z.discriminatedUnion('kind', [
  z.strictObject({ kind: z.literal('strength'), drop_dB: z.number() }),
  z.strictObject({ kind: z.literal('freezing'), least: z.number(), unit: z.string(), sensor: z.string() }),
  z.strictObject({ kind: z.literal('up'), off_mm: z.number(), limit_mm: z.number() }),
  z.strictObject({ kind: z.literal('together'), stations: z.array(z.string()) }),
  z.strictObject({
    kind: z.literal('multipath'),
    signal: z.string(),
    before_m: z.number(),
    now_m: z.number(),
  }),
  z.strictObject({ kind: z.literal('satellites'), before: z.number(), now: z.number() }),
  z.strictObject({ kind: z.literal('supply'), sensor: z.string(), reached: instant.exactOptional() }),
  z.strictObject({ kind: z.literal('nights'), outages: count, from: z.string(), to: z.string() }),
]);

export const health = z
  .strictObject({
    recent: z.strictObject(span),
    before: z.strictObject(span),
    shared: z.array(z.strictObject({ name: z.string(), what: z.string(), stations: z.array(z.string()) })),
    stations: z.array(
      z.strictObject({
        station: z.string(),
        streams: z.array(
          z.strictObject({
            stream: z.string(),
            newest: instant,
            behindMs: z.number().nonnegative(),
            completeness: share,
            outages: count,
            outageMs: z.number().nonnegative(),
            firstDay: instant,
            days: z.array(share.nullable()),
          }),
        ),
        tracking: z.array(tracking),
      }),
    ),
    outages: z.array(
      z.strictObject({
        from: instant,
        to: instant.exactOptional(),
        stations: z.array(z.string()),
        cause: z.strictObject({
          kind: z.enum(['everything', 'shared', 'base', 'stream', 'station', 'vector']),
          name: z.string(),
        }),
      }),
    ),
    supplies: z.array(
      z.strictObject({
        sensor: z.string(),
        of: z.string(),
        kind: z.enum(['battery', 'data', 'storage']),
        unit: z.string(),
        newest: z.strictObject({ at: instant, value: z.number() }).exactOptional(),
        limit: z.number(),
        perDay: z.number().exactOptional(),
        perDayPlusMinus: z.number().exactOptional(),
        plan: z
          .strictObject({ ...span, used: z.number().exactOptional(), expected: z.number().exactOptional() })
          .exactOptional(),
        passed: z.boolean().exactOptional(),
        reached: z.strictObject({ earliest: instant, by: instant.exactOptional() }).exactOptional(),
      }),
    ),
    duties: z.array(
      z.strictObject({
        what: z.string(),
        of: z.string().exactOptional(),
        due: day.exactOptional(),
        last: day.exactOptional(),
        every: z.string().exactOptional(),
        remindDays: count,
        responsible: z.string().exactOptional(),
        state: z.enum(['done', 'ahead', 'soon', 'overdue']),
      }),
    ),
    suspicions: z.array(
      z.strictObject({
        kind: z.enum(['obscured', 'power', 'multipath', 'signal']),
        of: z.string(),
        since: instant,
        evidence: z.array(evidence),
      }),
    ),
    timeFaults: z.array(
      z.strictObject({
        kind: z.enum(['weeks', 'scale']),
        stream: z.string(),
        stations: z.array(z.string()),
        ...span,
        epochs: count,
        offsetSeconds: z.number(),
      }),
    ),
  })
  .describe('Whether the data arrives, what receivers track, what it hangs on, and what must be done.');
