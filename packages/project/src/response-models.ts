import { z } from 'zod';
import { act, checksSchema, committedFile } from './committed-file.ts';

const coefficient = z.strictObject({ mm: z.number(), plusMinus_mm: z.number(), share: z.number() });
const perAxis = <T extends z.ZodType>(of: T) => z.strictObject({ east: of, north: of, up: of });

const responseSchema = z.strictObject({
  ...act,
  model: z.strictObject({
    /** Length of the means, and lags, hours. */
    means_h: z.number().positive(),
    means: z.number().int(),
    seasons: z.boolean(),
    logs: z
      .array(
        z.strictObject({
          sensor: z.string(),
          what: z.string(),
          unit: z.string(),
          lag_h: z.number().nonnegative(),
          lagFrom_h: z.number().nonnegative(),
          lagTo_h: z.number().nonnegative(),
          low: z.number(),
          high: z.number(),
          east: coefficient,
          north: coefficient,
          up: coefficient,
          withVelocity: z.number(),
          withOthers: z.array(z.strictObject({ sensor: z.string(), correlation: z.number() })),
        }),
      )
      .min(1),
    /** Of the coefficients of each axis, rows one after the other. */
    covariance_mm2: perAxis(z.array(z.number())),
    degreesOfFreedom: perAxis(z.number().positive()),
    eastNorth: z.number().min(-1).max(1),
    band_mm: perAxis(z.strictObject({ before: z.number(), after: z.number() })),
  }),
  evidence: z.strictObject({ checks: checksSchema, store: z.string(), logs: z.string() }),
});

/** One response model, committed by a person: what logs do to a station in a stream. */
export type CommittedResponse = z.output<typeof responseSchema>;

/** `response-models.yaml`. */
export const responseModels = committedFile(responseSchema, {
  key: 'responses',
  what: 'a response model',
  heading: `# Responses to logs, committed by a person with \`stillmark commit-response\`.
# Of one station and stream the last entry counts; earlier ones are kept as history. Coefficients are millimetres for a unit of the log.
`,
});
