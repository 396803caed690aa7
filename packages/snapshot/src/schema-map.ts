import { z } from 'zod';
import { count } from './schema-parts.ts';

const points = z.array(z.number()).describe('East and north in turn.');
const plan = (what: string) => z.tuple([z.number(), z.number()]).describe(what);

export const outline = z.array(
  z.strictObject({
    kind: z.enum(['structure', 'water', 'contour', 'road', 'zone']),
    name: z.string().exactOptional(),
    closed: z.boolean(),
    hole: z.literal(true).exactOptional(),
    points_m: points,
  }),
);

export const background = z
  .strictObject({
    image: z
      .strictObject({
        name: z.string(),
        // The name of a file that is read and written: nothing else may stand here.
        path: z.string().regex(/^assets\/background-[0-9a-f]{12}\.(?:png|jpg|webp)$/),
        sha256: z.string().regex(/^[0-9a-f]{64}$/),
        bytes: count,
        width_px: count,
        height_px: count,
        corner_m: plan('East and north of the upper left corner.'),
        column_m: plan('East and north from a column of pixels to the next.'),
        row_m: plan('East and north from a row of pixels to the next.'),
        map: z.string().describe('What the world file of the image counts in.'),
        strength: z.number().gt(0).lte(1),
      })
      .exactOptional(),
    layers: z.array(
      z.strictObject({
        name: z.string(),
        lines: z.array(
          z.strictObject({ label: z.string().exactOptional(), closed: z.boolean(), points_m: points }),
        ),
      }),
    ),
  })
  .describe('What lies under the map beside the outline, in metres on the plan.');
