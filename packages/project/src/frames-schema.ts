import type { FrameLink } from '@stillmark/geodesy';
import { z } from 'zod';
import { text } from './text-schema.ts';

export const decimalYear = z
  .number()
  .min(1980)
  .max(2100)
  .meta({ title: 'decimal year', examples: [2026.4] });

const three = z
  .array(z.number())
  .length(3, 'three numbers: x, y, z')
  .meta({ title: 'three numbers: x, y, z', examples: [[0.1, -0.2, 0.3]] });

const factors = { mm: 1, m: 1000, mas: 1, arcsec: 1000, ppb: 1, ppm: 1000 } as const;

/** Seven or fourteen parameters as somebody published them, with the units in which they stand there. */
export const transformationSchema = z
  .strictObject({
    from: text.describe('Frame from which the parameters lead.'),
    to: text.describe('Frame to which they lead; the way back is their exact inverse.'),
    convention: z
      .enum(['position vector', 'coordinate frame'])
      .describe(
        'Which way the rotations turn: the vector, or the axes (the opposite sign). It is never guessed.',
      ),
    units: z
      .strictObject({
        translation: z.enum(['m', 'mm']).default('m').describe('Of the translation.'),
        rotation: z
          .enum(['arcsec', 'mas'])
          .default('arcsec')
          .describe('Of the rotations: arc seconds, or thousandths of them.'),
        scale: z.enum(['ppm', 'ppb']).default('ppm').describe('Of the difference of scale from 1.'),
      })
      .prefault({})
      .describe('Units of the parameters; rates are in the same a year.'),
    translation: three.describe('Translation along X, Y and Z.'),
    rotation: three.default([0, 0, 0]).describe('Rotation about X, Y and Z.'),
    scale: z.number().default(0).describe('Difference of scale from 1.'),
    translationRate: three.optional().describe('Change of the translation in a year.'),
    rotationRate: three.optional().describe('Change of the rotation in a year.'),
    scaleRate: z.number().optional().describe('Change of the scale in a year.'),
    epoch: decimalYear.optional().describe('Reference epoch of the parameters; with rates it is needed.'),
    timeSpecific: z.boolean().default(false).describe('True where the parameters hold at their epoch only.'),
    exact: z
      .boolean()
      .default(false)
      .describe('True where the rotation is the product of three rotations, not its first order.'),
    pivot: three.optional().describe('Point about which it is turned, metres (Molodensky-Badekas).'),
    source: text.describe('Where the parameters are from.'),
  })
  .superRefine((t, context) => {
    const rates = t.translationRate ?? t.rotationRate ?? t.scaleRate;
    if ((rates !== undefined || t.timeSpecific) && t.epoch === undefined)
      context.addIssue({
        code: 'custom',
        message:
          'parameters that change with time, or hold at one time only, need the epoch at which they hold',
        path: ['epoch'],
      });
  })
  .transform(({ units, ...t }): FrameLink => {
    const by = (values: readonly number[], unit: keyof typeof factors): number[] =>
      values.map((value) => value * factors[unit]);
    return {
      from: t.from,
      to: t.to,
      convention: t.convention,
      translation_mm: by(t.translation, units.translation),
      rotation_mas: by(t.rotation, units.rotation),
      scale_ppb: t.scale * factors[units.scale],
      ...(t.translationRate ? { translationRate_mm: by(t.translationRate, units.translation) } : {}),
      ...(t.rotationRate ? { rotationRate_mas: by(t.rotationRate, units.rotation) } : {}),
      ...(t.scaleRate === undefined ? {} : { scaleRate_ppb: t.scaleRate * factors[units.scale] }),
      ...(t.epoch === undefined ? {} : { epoch: t.epoch }),
      ...(t.timeSpecific ? { timeSpecific: true } : {}),
      ...(t.exact ? { exact: true } : {}),
      ...(t.pivot ? { pivot_m: t.pivot } : {}),
      source: t.source,
    };
  })
  .describe('One transformation between two frames, by seven or fourteen parameters.');

const mapLength = (what: string) => z.number().meta({ title: 'length in metres' }).describe(what);

export const mapSchema = z
  .strictObject({
    projection: text
      .describe('Code of a projected coordinate reference system, or a PROJ string.')
      .meta({ examples: ['EPSG:25832', '+proj=tmerc +lat_0=0 +lon_0=9 +k=1 +x_0=500000 +ellps=GRS80'] }),
    frame: text
      .optional()
      .describe('Frame in which map coordinates are given; that of the positions unless said.'),
    epoch: decimalYear
      .optional()
      .describe(
        'Decimal year of the positions, for the way to that frame; that of the plate or of the held coordinates unless said.',
      ),
    siteGrid: z
      .strictObject({
        name: text.max(40).describe('What it is called on pages.'),
        map: z
          .strictObject({ easting: mapLength('To the east.'), northing: mapLength('To the north.') })
          .describe('A point on the map.'),
        site: z
          .strictObject({ x: mapLength('Along its x axis.'), y: mapLength('Along its y axis.') })
          .describe('The same point on the grid of the site.'),
        bearing: z
          .number()
          .gte(-360)
          .lt(360)
          .meta({ title: 'angle in degrees' })
          .describe('Where the y axis of the site points on the map: degrees clockwise from grid north.'),
        scale: z
          .number()
          .gt(0.9)
          .lt(1.1)
          .default(1)
          .describe('Length on the grid of the site for length on the map.'),
      })
      .optional()
      .describe('Grid of the site, tied to the map at one point by a turn and a scale.'),
  })
  .describe('Map coordinates that station pages show, beside the geodetic ones.');
