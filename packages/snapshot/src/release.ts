import { fail } from '@stillmark/problems';
import type { ReleasedRecord } from '@stillmark/records';
import { z } from 'zod';
import { background, outline } from './schema-map.ts';
import { instant } from './schema-parts.ts';

const ellipse = z.strictObject({
  semiMajor_mm: z.number(),
  semiMinor_mm: z.number(),
  azimuthDeg: z.number(),
});

export const releaseSchema = z.strictObject({
  format: z.literal('stillmark-release'),
  version: z.literal(1),
  project: z.strictObject({
    title: z.string(),
    purpose: z.string().exactOptional(),
    timeZone: z.string(),
  }),
  asOf: instant,
  snapshot: z.string().regex(/^[0-9a-f]{64}$/),
  approved: z.strictObject({ by: z.string(), at: instant, comment: z.string().exactOptional() }),
  confidence: z.number().gt(0).lt(1),
  headline: z.string(),
  levels: z.array(z.string()).exactOptional(),
  stations: z.array(
    z.strictObject({
      id: z.string(),
      role: z.enum(['base', 'monitoring']),
      on: z.string(),
      state: z.enum(['moved', 'still', 'held', 'no-data', 'establishing', 'not-statable', 'doubted']),
      sentence: z.string(),
      place: z.strictObject({ east_m: z.number(), north_m: z.number() }).exactOptional(),
      movement: z
        .strictObject({
          east_mm: z.number(),
          north_mm: z.number(),
          up_mm: z.number(),
          upHalf_mm: z.number(),
          ellipse,
          distinguishable: z.boolean(),
          upDistinguishable: z.boolean(),
        })
        .exactOptional(),
    }),
  ),
  outline: outline.exactOptional(),
  background: background.exactOptional(),
  index: z.boolean(),
});

export function serialiseRelease(record: ReleasedRecord): string {
  return `${JSON.stringify(record, undefined, 1)}\n`;
}

/** @throws SNAPSHOT_FORMAT where the text is no release that this version can read */
export function parseRelease(text: string, file: string): ReleasedRecord {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch {
    return fail('SNAPSHOT_FORMAT', 'the release is not JSON', { at: { file } });
  }
  const { data, error } = releaseSchema.safeParse(json);
  return (
    data ??
    fail('SNAPSHOT_FORMAT', `the release cannot be read: ${error.issues[0]!.message}`, {
      at: { file },
      hint: 'a file written by `stillmark release`',
    })
  );
}
