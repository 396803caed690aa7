import { z } from 'zod';
import { instant, length, signedLength } from './quantities.ts';
import { text } from './text-schema.ts';

const component = z
  .strictObject({
    value: signedLength.describe('East, north and up are positive.'),
    plusMinus: length.describe('Half-width of its 95 % interval.'),
  })
  .optional();

export const surveySchema = z.strictObject({
  station: z.string().describe('The station or base that was surveyed.'),
  at: instant.describe('When it was surveyed.'),
  method: text.describe('Such as levelling, total station.'),
  by: text.describe('Who surveyed.'),
  result: text.describe('What it found, in words.'),
  movement: z
    .strictObject({
      east: component.describe('To the east.'),
      north: component.describe('To the north.'),
      up: component.describe('Upwards.'),
    })
    .prefault({})
    .describe('What it found in figures: movement since the reference period, against points outside.'),
});

export const processingSchema = z.strictObject({
  from: instant.describe('Since when positions are processed so.'),
  engine: text.optional().describe('Name and version of the processing.'),
  antennaModel: text.optional().describe('Which corrections of the antennas are used.'),
  mask: z
    .number()
    .min(0)
    .lt(90)
    .meta({ title: 'angle in degrees' })
    .optional()
    .describe('Elevation above the horizon from which satellites are used.'),
  frame: text.optional().describe('Frame of the orbits, and of the coordinates that are held.'),
  held: text.optional().describe('Which coordinates of the base are held.'),
  note: text.optional().describe('What else is to be known of it.'),
});
