import { z } from 'zod';

export const instant = z.iso.datetime().describe('ISO 8601 in UTC.');
export const count = z.number().int().nonnegative();
export const span = { from: instant, to: instant };

export const eventKind = z.enum(['structural', 'instrument', 'processing', 'base', 'note']);

export const structure = z
  .strictObject({
    longitudinal_mm: z.number(),
    longitudinalPlusMinus_mm: z.number(),
    transverse_mm: z.number(),
    transversePlusMinus_mm: z.number(),
  })
  .describe('In the axes of the structure: transverse points to the right of longitudinal.');

export const vector = {
  east_mm: z.number(),
  north_mm: z.number(),
  up_mm: z.number(),
  covariance_mm2: z.strictObject({ ee: z.number(), en: z.number(), nn: z.number(), uu: z.number() }),
  horizontal: z.strictObject({
    magnitude_mm: z.number(),
    azimuthDeg: z.number().describe('Clockwise from north.'),
    plusMinus_mm: z.number().describe('Half-width of the interval along the azimuth.'),
    degreesOfFreedom: z.number(),
    statistic: z.number(),
    p: z.number(),
    pAdjusted: z.number().describe('Adjusted for all figures tested together (Holm 1979).'),
    distinguishable: z.boolean(),
    detectable_mm: z
      .number()
      .describe('Smallest movement that would have been found, in the least precise direction.'),
    ellipse: z
      .strictObject({ semiMajor_mm: z.number(), semiMinor_mm: z.number(), azimuthDeg: z.number() })
      .describe('Confidence ellipse.'),
  }),
  up: z.strictObject({
    value_mm: z.number(),
    plusMinus_mm: z.number(),
    degreesOfFreedom: z.number(),
    p: z.number(),
    pAdjusted: z.number(),
    distinguishable: z.boolean(),
    detectable_mm: z.number(),
  }),
  structure: structure.exactOptional(),
  grid: z
    .strictObject({
      x_mm: z.number(),
      xPlusMinus_mm: z.number(),
      y_mm: z.number(),
      yPlusMinus_mm: z.number(),
    })
    .exactOptional()
    .describe("Along the axes of the project's grid; x is the easting of a map. Turned, not scaled."),
};

export const rate = z
  .strictObject({ ...span, perDays: z.number().positive(), ...vector, up: vector.up.exactOptional() })
  .describe('Slope of the window solutions over a span, in millimetres in perDays days.');

export const perAxis = <T extends z.ZodType>(
  of: T,
): z.ZodObject<{ east: T; north: T; up: T }, z.core.$strict> =>
  z.strictObject({ east: of, north: of, up: of });
