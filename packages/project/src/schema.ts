import { z } from 'zod';
import { backgroundSchema } from './background-schema.ts';
import { columnsSchema, dialectSchema } from './columns.ts';
import { processingSchema, surveySchema } from './evidence-schema.ts';
import { dutySchema, healthOfSensorSchema, sharedSchema, trackingSchema } from './health-schema.ts';
import { decimalYear, mapSchema, transformationSchema } from './frames-schema.ts';
import { horizonSchema, planSchema } from './plan-schema.ts';
import { duration, instant, length } from './quantities.ts';
import { nameKind, text } from './text-schema.ts';
import {
  acknowledgementSchema,
  alarmLoadSchema,
  assumedNoiseSchema,
  triggerSchema,
} from './triggers-schema.ts';

const name = (what: string) =>
  z
    .string()
    .regex(
      /^[A-Za-z0-9][A-Za-z0-9_-]{0,23}$/,
      `${what} is 1 to 24 letters, digits, hyphens or underscores, and begins with a letter or digit`,
    )
    .meta({ title: nameKind });

/** IANA name of a time zone. */
export const timeZone = z
  .string()
  .refine(isTimeZone, { error: (issue) => `'${String(issue.input)}' is not a time zone` })
  .meta({ title: 'IANA name of a time zone', examples: ['UTC', 'Europe/Vienna'] });

function isTimeZone(zone: string): boolean {
  try {
    return Intl.DateTimeFormat('en', { timeZone: zone }).resolvedOptions().timeZone !== '';
  } catch {
    return false;
  }
}

const angle = (least: number, most: number) =>
  z.number().min(least).max(most).meta({ title: 'angle in degrees' });

const precision = z
  .strictObject({
    mm: z.number().positive().meta({ title: 'length in mm' }).describe('The constant part.'),
    ppm: z.number().nonnegative().meta({ title: 'ppm' }).describe('The part that grows with the baseline.'),
  })
  .describe(
    'One sigma of a single solution: a constant part in millimetres and a part that grows with the baseline in ppm.',
  );

export const stationSchema = z.strictObject({
  id: name('a station id').describe('Short name, used in positions files, addresses and labels.'),
  role: z.enum(['base', 'monitoring']).describe('base: on stable ground. monitoring: on what may move.'),
  on: text.describe('What the station stands on.'),
  antenna: text.optional().describe('Antenna type, as recorded at installation.'),
  monument: z
    .strictObject({
      type: text.describe('Pillar, mast, bracket, and in what it is fixed.'),
      height: length.optional().describe('Of the antenna above the ground or the structure.'),
    })
    .optional()
    .describe('What carries the antenna, and how high: what moves is the antenna on it.'),
  installed: instant.optional().describe('When the antenna began to stand where it stands.'),
  horizon: horizonSchema
    .optional()
    .describe(
      'What stands around the antenna and hides satellites: azimuth clockwise from north and elevation, with straight lines between.',
    ),
  succeeds: z
    .strictObject({
      station: z.string().describe('Id of the station that stood there before.'),
      at: instant.describe('When it took its place.'),
    })
    .optional()
    .describe(
      'The station whose place it took, and when: its positions before that time are those of that station, with a tie between.',
    ),
  position: z
    .strictObject({
      latitude: angle(-90, 90).describe('North positive.'),
      longitude: angle(-180, 180).describe('East positive.'),
      height: z
        .number()
        .min(-500)
        .max(9000)
        .meta({ title: 'length in metres' })
        .describe('Above the ellipsoid.'),
    })
    .describe('Approximate position, to a few metres; for a base that is held, the position that is held.'),
  stream: z
    .string()
    .optional()
    .describe('The stream whose figures are stated first; the first of the file unless said.'),
  receiver: z
    .strictObject({
      horizontal: precision,
      up: precision,
      source: text.describe('Where the figures are from.'),
    })
    .optional()
    .describe('Precision that the specification of the receiver promises.'),
});

export const streamSchema = z.strictObject({
  name: name('a stream name').describe('What it is called on pages and in commands.'),
  kind: z
    .enum(['relative', 'absolute'])
    .describe(
      'relative: vectors from a base whose coordinates are held. absolute: own coordinates in a dynamic frame.',
    ),
  base: z.string().optional().describe('The station whose coordinates are held; of a relative stream.'),
  frame: z
    .strictObject({
      name: text.describe('Name of the frame.'),
      epoch: decimalYear.optional().describe('At which the coordinates of the base are held.'),
    })
    .optional()
    .describe(
      'Frame of the positions where it is not that of the project, to which they are brought. Of a relative stream with the epoch at which the coordinates of the base are held.',
    ),
  plate: z
    .strictObject({
      model: z.enum(['ITRF2014', 'ITRF2020']).describe('Plate motion model, of the frame of the positions.'),
      name: z
        .string()
        .regex(/^[A-Z]{4}$/, 'a plate is named by four capital letters')
        .meta({ title: 'four capital letters', examples: ['EURA', 'NOAM', 'AUST'] })
        .describe('Plate on which the stations stand, as the model names it.'),
      epoch: decimalYear.describe('Decimal year at which the coordinates are to stand.'),
    })
    .optional()
    .describe('Of an absolute stream: the plate whose motion is taken off.'),
  solution: z
    .enum(['epoch-wise', 'filtered'])
    .describe('filtered: each position leans on earlier ones, so a step arrives late and smeared.'),
  files: z
    .array(text)
    .min(1)
    .describe(
      'Paths inside the project folder; * stands for any characters but a slash, ** for any folders.',
    ),
  processing: z
    .array(processingSchema)
    .default([])
    .describe(
      'How positions were processed since when. A change that no event of kind processing or base ties puts figures across it in doubt.',
    ),
  timeScale: z.enum(['UTC', 'GPS']).default('UTC').describe('Time scale of the time column.'),
  units: z
    .strictObject({
      position: z.enum(['m', 'mm']).default('m').describe('Of coordinates and heights.'),
      covariance: z.enum(['m2', 'mm2']).default('m2').describe('Of variances and covariances.'),
      deviation: z.enum(['m', 'mm']).default('m').describe('Of standard deviations.'),
    })
    .prefault({})
    .describe('Units of the numbers in the files.'),
  format: z
    .enum(['csv', 'sinex', 'nmea'])
    .default('csv')
    .describe(
      'sinex: estimates of SINEX files with their matrix. nmea: logs of receivers (GGA, GST, and RMC or ZDA).',
    ),
  sites: z
    .record(z.string(), text)
    .optional()
    .describe(
      'Of SINEX: the code of the site of each station; other sites are passed over; ids are codes unless said. Of NMEA: the pattern of the files of each station.',
    ),
  qualities: z
    .array(z.number().int().min(1).max(8))
    .min(1)
    .default([4])
    .describe('Of NMEA: the qualities of GGA that are taken; 4 is fixed, 5 float.'),
  coordinates: text
    .default('geocentric')
    .describe('geocentric, geodetic, map or site (of the project), EPSG:<code>, or a PROJ string.'),
  dialect: dialectSchema,
  columns: columnsSchema.prefault({}),
});

export const sensorSchema = z.strictObject({
  name: name('a sensor name').describe('What it is called in files and commands.'),
  what: text.max(60).describe('What is measured, such as reservoir level.'),
  unit: text.max(12).describe('Unit of the readings, as it is printed.'),
  files: z.array(text).min(1).describe('Paths inside the project folder, as of streams.'),
  timeScale: z.enum(['UTC', 'GPS']).default('UTC').describe('Time scale of the time column.'),
  columns: z
    .strictObject({ time: text.describe('Time of the reading.'), value: text.describe('The reading.') })
    .describe('Column names in the files.'),
  dialect: dialectSchema,
  response: z
    .strictObject({
      longestLag: duration
        .optional()
        .describe('The movement may follow the log by up to this time; it follows at once unless said.'),
    })
    .optional()
    .describe('The log may move the structure by itself: what it does is looked for, and can be committed.'),
  health: healthOfSensorSchema.optional(),
});

const lines = (least: number, what: string) =>
  z.strictObject({
    name: text.max(40).optional().describe('What it is called; the ids of its stations unless said.'),
    stations: z.array(z.string()).min(least, what).describe('Ids of the stations, in order.'),
    stream: z
      .string()
      .optional()
      .describe('The stream in which they are compared; that of the first station unless said.'),
  });

export const eventSchema = z.strictObject({
  at: instant.describe('When it happened.'),
  what: text.describe('What happened, as pages tell it.'),
  kind: z
    .enum(['structural', 'instrument', 'processing', 'base', 'note'])
    .default('note')
    .describe(
      'structural: counts as displacement. instrument, processing, base: a step that is no movement, tied out. note: nothing.',
    ),
  station: z
    .string()
    .optional()
    .describe(
      'Whose antenna was touched (instrument), or which base (base); of other kinds, whom it concerns.',
    ),
  stream: z.string().optional().describe('The stream that steps (processing); all of them unless said.'),
  creep: z
    .boolean()
    .default(false)
    .describe(
      'A movement may relax after it (structural or note): it enters the velocity over the whole time where the series asks for it.',
    ),
});

export const projectSchema = z
  .strictObject({
    stillmark: z.literal(1).describe('Version of this file format.'),
    title: text.describe('What the network is called, on every page.'),
    purpose: text.optional().describe('What it is there for, in a sentence.'),
    timeZone: timeZone.default('UTC').describe('Zone in which pages show times (IANA name).'),
    frame: z
      .strictObject({
        name: text.describe('Reference frame of the positions, such as ITRF2020.'),
        ellipsoid: z
          .enum(['GRS 1980', 'WGS 84'])
          .describe('Ellipsoid of latitudes and heights, and of which up is the normal.'),
        epoch: text.optional().describe('Epoch of the held coordinates, such as 2026.0.'),
      })
      .describe('In which frame positions and approximate positions are given.'),
    transformations: z
      .array(transformationSchema)
      .default([])
      .describe('Transformations between frames beside the published ones.'),
    map: mapSchema.optional(),
    processingInterval: duration.describe(
      'Time between processing runs. A page is out of date after two of them.',
    ),
    axes: z
      .strictObject({
        longitudinalAzimuth: z
          .number()
          .min(0)
          .lt(360)
          .meta({ title: 'angle in degrees' })
          .describe('Clockwise from north. Transverse points to the right of it.'),
        transverse: text
          .max(40)
          .optional()
          .describe('What lies in the transverse direction, such as downstream.'),
      })
      .optional()
      .describe("The structure's own axes; without them displacements are told in east and north."),
    outline: text.optional().describe('GeoJSON file of the site plan, drawn under the stations.'),
    background: backgroundSchema.optional(),
    words: text
      .optional()
      .describe('PO file with the words of the site in another language; `stillmark words` writes it.'),
    requirement: z
      .strictObject({
        horizontal: length.describe('In plan, in any direction.'),
        up: length.describe('Up or down.'),
        accuracy: z
          .strictObject({ horizontal: length.describe('In plan.'), up: length.describe('Up or down.') })
          .optional()
          .describe('Largest half-width that the interval of a displacement may have.'),
      })
      .describe('Smallest movement that must be found.'),
    reference: z
      .strictObject({
        constellations: z
          .array(z.enum(['GPS', 'GLONASS', 'Galileo', 'BeiDou', 'QZSS']))
          .min(1, 'at least one constellation is tracked')
          .default(['GPS', 'GLONASS', 'Galileo', 'BeiDou'])
          .describe(
            'Constellations that the receivers track: each must have gone through its whole repeat cycle.',
          ),
        settle: z
          .strictObject({ horizontal: length.describe('In plan.'), up: length.describe('Up or down.') })
          .optional()
          .describe(
            'How far the running mean may still wander in the last three days; a quarter of the requirement unless said.',
          ),
      })
      .prefault({})
      .describe('What a reference period must show before a position is committed from it.'),
    response: z
      .strictObject({
        means: duration
          .prefault('24 h')
          .describe(
            'Length of the means from which responses to logs are learnt; lags are told in steps of it.',
          ),
        seasons: z
          .boolean()
          .default(false)
          .describe('Fit waves of the year beside the logs, from a year of data on.'),
        tides: z.boolean().default(false).describe('Look for waves of the moon too: sites at the sea.'),
      })
      .prefault({})
      .describe('How the natural response of the structure is looked for.'),
    pairs: z
      .array(
        lines(2, 'a pair has two stations').refine((p) => p.stations.length === 2, 'a pair has two stations'),
      )
      .default([])
      .describe('Stations that are told against each other: change of distance, settlement, tilt.'),
    lines: z
      .array(lines(3, 'a line has at least three stations'))
      .default([])
      .describe('Stations in a row, of which the angular distortion of each part is told.'),
    responsible: z
      .array(
        z.strictObject({
          role: text.describe('What is answered for, such as measurement; levels and duties name it.'),
          name: text.describe('Who does; pages show it, so leave out what must not be published.'),
        }),
      )
      .default([])
      .describe('Roles, and who fills them.'),
    stations: z
      .array(stationSchema)
      .min(2, 'a network has at least two stations')
      .describe('Bases and monitoring stations, in the order in which pages show them.'),
    streams: z
      .array(streamSchema)
      .min(1, 'a network has at least one stream of positions')
      .describe('In order of preference: the figures of the first are stated first.'),
    sensors: z
      .array(sensorSchema)
      .default([])
      .describe('Logs that are shown under the movements: temperature, water level, wind.'),
    plan: planSchema.optional(),
    outside: z
      .array(text)
      .default([])
      .describe('Folders outside the project folder into which links to files may lead.'),
    tracking: z
      .array(trackingSchema)
      .default([])
      .describe(
        'What receivers track: observation files, or logs. Their quality is told on the page of data health.',
      ),
    shared: z
      .array(sharedSchema)
      .default([])
      .describe(
        'What several stations hang on: router, SIM, power, host. Outages are told by their common cause.',
      ),
    duties: z
      .array(dutySchema)
      .default([])
      .describe('What must be done by when: contracts, visits, calibrations.'),
    events: z
      .array(eventSchema)
      .default([])
      .describe('What happened to the structure, its antennas or the processing.'),
    decisions: z
      .array(
        z.strictObject({
          base: z.string().describe('Id of the base.'),
          finding: z
            .enum(['moving', 'stable'])
            .describe(
              'moving: its figures stay in doubt. stable: no doubt is raised, whatever the bases show.',
            ),
          since: instant.optional().describe('Since when it moves.'),
          by: text.describe('Who decided.'),
          at: instant.describe('When it was decided; the latest decision on a base counts.'),
          why: text.describe('On what it rests: a check survey, a visit.'),
        }),
      )
      .default([])
      .describe('What the responsible engineer decided of bases.'),
    surveys: z
      .array(surveySchema)
      .default([])
      .describe('Check surveys by other means, of bases and stations.'),
    triggers: z
      .array(triggerSchema)
      .default([])
      .describe('Levels that somebody must know of when they are passed.'),
    release: z
      .strictObject({
        hide: z
          .strictObject({
            stations: z.array(z.string()).default([]).describe('Stations that are not named at all.'),
            coordinates: z
              .boolean()
              .default(false)
              .describe('Whether places, and with them the map, are left out.'),
            levels: z.boolean().default(false).describe('Whether levels and what they say are left out.'),
            background: z
              .boolean()
              .default(false)
              .describe(
                'Whether image and layers under the map are left out; the image is as soon as a station is hidden.',
              ),
          })
          .prefault({})
          .describe('What must not go out.'),
        index: z.boolean().default(false).describe('Whether search engines may keep the released site.'),
      })
      .optional()
      .describe(
        'What the released site may carry: the one for those outside, with approved statements alone.',
      ),
    assumedNoise: assumedNoiseSchema
      .optional()
      .describe('Noise of a station of which none is measured yet, for what is planned.'),
    alarmLoad: z
      .array(alarmLoadSchema)
      .default([])
      .describe('What alarms may cost and must find: for each, candidates are tried by simulation.'),
    acknowledgements: z
      .array(acknowledgementSchema)
      .default([])
      .describe('Who has seen a change of state in the log, and what they say of it.'),
    statements: z
      .strictObject({
        confidence: z
          .number()
          .gt(0.5)
          .lt(1)
          .default(0.95)
          .describe('Of each interval and ellipse for itself.'),
        familySignificance: z
          .number()
          .gte(1e-6)
          .lt(0.5)
          .default(0.05)
          .describe('Chance that anything on the whole site is called moved while nothing moves.'),
        power: z
          .number()
          .gt(0.5)
          .lt(1)
          .default(0.8)
          .describe('Chance with which a movement of the minimal detectable size is found.'),
        window: duration.prefault('6 h').describe('Length of the windows from which the noise is learnt.'),
        present: duration.prefault('24 h').describe('Length of the span whose mean is the present position.'),
        rate: duration.prefault('30 d').describe('Length of the span over which the rate is told.'),
        sidereal: z
          .strictObject({
            days: z
              .number()
              .int()
              .min(1)
              .max(30)
              .default(7)
              .describe('From so many days before the pattern is taken.'),
            constellation: z
              .enum(['GPS', 'QZSS'])
              .default('GPS')
              .describe('Whose repeat time is taken: only those that repeat in a day can serve.'),
          })
          .optional()
          .describe(
            'Filter out of positions more often than daily what repeats with the satellites (multipath); its gain is told of each station.',
          ),
      })
      .prefault({})
      .describe('How sure statements are, and over which spans they are made.'),
  })
  .describe('A Stillmark project: one GNSS monitoring network.');

/** A checked project file. Times in milliseconds of UTC, lengths in metres, angles in degrees. */
export type Project = z.output<typeof projectSchema>;
export type Station = z.output<typeof stationSchema>;
export type Sensor = z.output<typeof sensorSchema>;
export type Tracking = z.output<typeof trackingSchema>;
export type Duty = z.output<typeof dutySchema>;
export type Event = z.output<typeof eventSchema>;
export type Trigger = z.output<typeof triggerSchema>;
/** A checked stream: a relative one has the base that is held, an absolute one its plate. */
export type Stream = z.output<typeof streamSchema>;
