import { fail } from '@stillmark/problems';
import type { Standings } from '@stillmark/records';
import { z } from 'zod';
import { count, instant } from './schema-parts.ts';

const triggerStanding = z
  .strictObject({
    condition: z.enum(['measured', 'establishing', 'stale', 'no-data', 'in-doubt', 'ended']),
    level: count.describe('The highest level that is reached; 0 where none is.'),
    levelName: z.string().exactOptional(),
    responsible: z.string().exactOptional().describe('Who acts at that level.'),
  })
  .describe('How a trigger stands; the level stays while the condition is another than measured.');
const stationStanding = z.enum([
  'moved',
  'still',
  'held',
  'no-data',
  'establishing',
  'not-statable',
  'doubted',
]);
const baseStanding = z.enum(['doubted', 'watched', 'stable', 'untested']);
const newest = z
  .strictObject({ at: instant, value: z.number(), plusMinus: z.number().exactOptional() })
  .describe('The newest mean, with the half-width of its interval.');
const ofTrigger = {
  trigger: z.string(),
  of: z.string(),
  stream: z.string(),
  unit: z.enum(['mm', 'mm/30 d', 'mm/m']),
};

const waitingSchema = z.strictObject({
  format: z.literal('stillmark-standings'),
  version: z.literal(1),
  standings: z
    .strictObject({
      asOf: instant,
      triggers: z.array(
        z.strictObject({ ...ofTrigger, state: triggerStanding, newest: newest.exactOptional() }),
      ),
      stations: z.array(z.strictObject({ of: z.string(), state: stationStanding })),
      bases: z.array(z.strictObject({ of: z.string(), state: baseStanding })),
    })
    .nullable(),
  told: z.array(z.string()),
});

const between = <T extends z.ZodType>(state: T) => ({
  from: state.nullable().describe('null: there was none before.'),
  to: state.nullable().describe('null: there is none any more.'),
  text: z.string().describe('The change in words.'),
});

/** What a command is told after a snapshot that changed some state. */
export const transitionsSchema = z
  .strictObject({
    format: z.literal('stillmark-transitions'),
    version: z.literal(1),
    id: z.string().describe('The same where the same transitions are told again.'),
    project: z.string(),
    asOf: instant,
    validUntil: instant,
    before: z
      .strictObject({ asOf: instant })
      .nullable()
      .describe('What the states are compared with; null where there was no snapshot.'),
    headline: z.string(),
    highestLevel: count,
    site: z.string().describe('The folder that holds the snapshot.'),
    transitions: z
      .array(
        z.discriminatedUnion('kind', [
          z.strictObject({
            kind: z.literal('trigger'),
            ...ofTrigger,
            ...between(triggerStanding),
            newest: newest.exactOptional(),
          }),
          z.strictObject({ kind: z.literal('station'), of: z.string(), ...between(stationStanding) }),
          z.strictObject({ kind: z.literal('base'), of: z.string(), ...between(baseStanding) }),
        ]),
      )
      .min(1),
    caution: z.string(),
  })
  .describe('Changes of state since the snapshot before.');

/** JSON Schema of {@link transitionsSchema}. */
export function transitionsJsonSchema(): object {
  return z.toJSONSchema(transitionsSchema);
}

/** What is kept until a command has been told of newer states. */
export interface Waiting {
  /** What was told last; absent where nothing was. */
  readonly standings?: Standings;
  /** Keys of the transitions that were told since, by a command that did not end well: somebody may have heard of them. */
  readonly told: readonly string[];
}

export function serialiseWaiting({ standings, told }: Waiting): string {
  return `${JSON.stringify({ format: 'stillmark-standings', version: 1, standings: standings ?? null, told }, undefined, 1)}\n`;
}

/**
 * @param file where the text stands, for the problem
 * @throws SNAPSHOT_FORMAT where the text does not hold states
 */
export function parseWaiting(text: string, file: string): Waiting {
  try {
    const { standings, told } = waitingSchema.parse(JSON.parse(text));
    return { ...(standings ? { standings } : {}), told };
  } catch {
    return fail('SNAPSHOT_FORMAT', 'the states that wait to be told cannot be read', { at: { file } });
  }
}
