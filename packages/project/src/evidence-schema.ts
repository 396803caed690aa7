import { z } from 'zod';
import { instant, length, signedLength } from './quantities.ts';
import { text } from './text-schema.ts';

const component = z
  .strictObject({ value: signedLength, plusMinus: length.describe('Half-width of its 95 % interval.') })
  .optional();

export const surveySchema = z.strictObject({
  station: z.string(),
  at: instant,
  method: text.describe('Such as levelling, total station.'),
  by: text,
  result: text.describe('What it found, in words.'),
  movement: z
    .strictObject({ east: component, north: component, up: component })
    .prefault({})
    .describe('What it found in figures: movement since the reference period, against points outside.'),
});

export const processingSchema = z.strictObject({
  from: instant.describe('Since when positions are processed so.'),
  engine: text.optional().describe('Name and version of the processing.'),
  antennaModel: text.optional(),
  mask: z.number().min(0).lt(90).optional().describe('Degrees above the horizon.'),
  frame: text.optional(),
  held: text.optional().describe('Which coordinates of the base are held.'),
  note: text.optional(),
});
