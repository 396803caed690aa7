import { z } from 'zod';
import { act, checksSchema, committedFile } from './committed-file.ts';

const coefficient = z.strictObject({
  mm: z.number().describe('Millimetres for a unit of the log.'),
  plusMinus_mm: z.number().describe('Half-width of its interval.'),
  share: z.number().describe('Part of what the other terms leave that the log explains (partial R2).'),
});
const perAxis = <T extends z.ZodType>(of: T) =>
  z.strictObject({ east: of.describe('East.'), north: of.describe('North.'), up: of.describe('Up.') });

const responseSchema = z.strictObject({
  ...act,
  model: z
    .strictObject({
      means_h: z.number().positive().describe('Length of the means, hours.'),
      means: z.number().int().describe('How many there were.'),
      seasons: z.boolean().describe('Whether waves of the year were fitted beside the logs.'),
      logs: z
        .array(
          z.strictObject({
            sensor: z.string().describe('Name of the sensor.'),
            what: z.string().describe('What it measures.'),
            unit: z.string().describe('In which unit.'),
            lag_h: z.number().nonnegative().describe('By so many hours the movement follows the log.'),
            lagFrom_h: z.number().nonnegative().describe('Begin of the interval of that lag, hours.'),
            lagTo_h: z.number().nonnegative().describe('End of it.'),
            low: z.number().describe('Least value of the log in the span.'),
            high: z.number().describe('Greatest value.'),
            east: coefficient.describe('What it does to east.'),
            north: coefficient.describe('What it does to north.'),
            up: coefficient.describe('What it does to up.'),
            withVelocity: z
              .number()
              .describe(
                'Correlation of the estimate with that of the velocity: near 1 the two cannot be told apart.',
              ),
            withOthers: z
              .array(
                z.strictObject({
                  sensor: z.string().describe('Name of the other sensor.'),
                  correlation: z.number().describe('Correlation of the two estimates.'),
                }),
              )
              .describe('The same with the other logs.'),
          }),
        )
        .min(1)
        .describe('The logs of the model, each with its coefficient in every axis.'),
      covariance_mm2: perAxis(z.array(z.number())).describe(
        'Of the coefficients of each axis, rows one after the other.',
      ),
      degreesOfFreedom: perAxis(z.number().positive()).describe('Of the variances.'),
      eastNorth: z.number().min(-1).max(1).describe('Correlation of east and north.'),
      band_mm: perAxis(
        z.strictObject({
          before: z.number().describe('Before the response is taken off.'),
          after: z.number().describe('After it.'),
        }),
      ).describe('From the 2.5 to the 97.5 percentile of the means about their line, millimetres wide.'),
    })
    .describe('What was learnt, frozen.'),
  evidence: z
    .strictObject({
      checks: checksSchema.describe('What the span had to show.'),
      store: z.string().describe('SHA-256 of the epochs up to the end of the span.'),
      logs: z.string().describe('SHA-256 of the readings.'),
    })
    .describe('On what it rests.'),
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
