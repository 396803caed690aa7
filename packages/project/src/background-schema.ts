import { z } from 'zod';
import { text, title } from './text-schema.ts';

/** What lies under the map beside the outline. */
export const backgroundSchema = z
  .strictObject({
    image: z
      .strictObject({
        file: text.describe(
          'PNG, JPEG or WebP inside the project folder, of 4 MB and 4096 by 4096 pixels at most.',
        ),
        worldFile: text
          .optional()
          .describe(
            'Six lines that place the image: the steps A, D, B, E and the centre C, F of the upper left pixel. Looked for beside the image unless said: site.pgw, site.pngw or site.wld of site.png.',
          ),
        name: title.describe('What it shows, for the key of the map.'),
        coordinates: text
          .default('map')
          .describe(
            'What the world file counts in: map or site (of the project), or another map by EPSG:<code> or a PROJ string.',
          )
          .meta({ examples: ['map', 'site', 'EPSG:25832'] }),
        frame: text
          .optional()
          .describe(
            'Frame of another map; that of the map of the project, else of the positions, unless said.',
          ),
        strength: z
          .number()
          .min(0.1)
          .max(1)
          .default(0.6)
          .describe('How strongly it is drawn, in greys under everything else: 1 as it is.'),
      })
      .optional()
      .describe('A georeferenced image, such as a relief, a plan or an aerial photograph.'),
    layers: z
      .array(
        z.strictObject({
          file: text.describe('GeoJSON file of lines or areas, longitude first.'),
          name: title.describe('What its lines are, for the key of the map, such as contours.'),
          labels: text
            .optional()
            .describe(
              'Property of the features that is written on their lines, such as elevation: a word or a number.',
            ),
        }),
      )
      .max(4, 'at most four layers can be told apart')
      .default([])
      .describe('Thin lines over the image, such as contours.'),
  })
  .describe('What lies under the map beside the outline: an image, and layers of lines.');
