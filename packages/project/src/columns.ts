import { z } from 'zod';
import { text } from './text-schema.ts';

const coordinateNames = {
  geocentric: ['x', 'y', 'z'],
  geodetic: ['latitude', 'longitude', 'height'],
  map: ['easting', 'northing', 'height'],
  site: ['siteX', 'siteY', 'height'],
} as const;
const covariances = {
  geocentric: ['xx', 'xy', 'xz', 'yy', 'yz', 'zz'],
  local: ['ee', 'en', 'eu', 'nn', 'nu', 'uu'],
} as const;
const deviations = { geocentric: ['sx', 'sy', 'sz'], local: ['se', 'sn', 'su'] } as const;

/** Names of the columns that a file of positions can have. */
export const positionColumns = [
  'station',
  'time',
  ...new Set(Object.values(coordinateNames).flat()),
  ...Object.values(covariances).flat(),
  ...Object.values(deviations).flat(),
] as const;
export type PositionColumn = (typeof positionColumns)[number];

export const columnsSchema = z
  .strictObject(
    Object.fromEntries(positionColumns.map((name) => [name, text.optional()])) as Record<
      PositionColumn,
      z.ZodOptional<typeof text>
    >,
  )
  .describe(
    'Column names in the files. Coordinates: x, y, z; latitude, longitude (degrees), height; or easting, northing, height. Uncertainty: the six covariances (xx to zz, or ee to uu along east, north and up), or the standard deviations sx, sy, sz or se, sn, su.',
  );

const delimiters = { ',': ',', ';': ';', tab: '\t', '|': '|' } as const;

/** How numbers, times and fields are written. */
export const dialectSchema = z
  .strictObject({
    delimiter: z
      .enum([',', ';', 'tab', '|'])
      .default(',')
      .transform((name) => delimiters[name]),
    decimal: z.enum(['.', ',']).default('.').describe('Decimal sign.'),
    time: z
      .string()
      .regex(
        /^(?=.*YYYY)(?=.*MM)(?=.*DD)(?=.*HH)(?=.*mm)[^A-Za-z]*(?:(?:YYYY|MM|DD|HH|mm|ss)[^A-Za-z]*)+$/,
        'a form of time has YYYY, MM, DD, HH and mm, and may have ss',
      )
      .optional()
      .meta({ examples: ['DD.MM.YYYY HH:mm:ss', 'MM/DD/YYYY HH:mm'] }),
    utcOffset: z
      .string()
      .regex(/^(?:Z|[+-]\d{2}:\d{2})$/, 'an offset from UTC is Z or such as +01:00')
      .optional()
      .describe(
        'Of times without a zone; one for the whole year. Clocks that are put forward in summer have none.',
      ),
  })
  .prefault({})
  .describe('How the CSV files are written, where they are not as a rule: comma, decimal point, ISO 8601.');

export interface Columns {
  readonly coordinates: readonly PositionColumn[];
  readonly uncertainty: readonly PositionColumn[];
  readonly kind: 'covariance' | 'deviations';
}

/** Which columns a stream reads, or which it lacks and which it cannot use. */
export function columnsOf(stream: {
  readonly coordinates: string;
  readonly columns: Readonly<Partial<Record<PositionColumn, string | undefined>>>;
}): Columns | { readonly missing: readonly string[]; readonly strange: readonly string[] } {
  const given = positionColumns.filter((name) => stream.columns[name] !== undefined);
  const kind =
    stream.coordinates === 'geocentric' || stream.coordinates === 'geodetic' || stream.coordinates === 'site'
      ? stream.coordinates
      : 'map';
  const axes = kind === 'geocentric' ? 'geocentric' : 'local';
  const coordinates: readonly PositionColumn[] = coordinateNames[kind];
  const byDeviation = deviations[axes].some((name) => given.includes(name));
  const uncertainty: readonly PositionColumn[] = byDeviation ? deviations[axes] : covariances[axes];
  const needed: readonly PositionColumn[] = ['station', 'time', ...coordinates, ...uncertainty];
  const missing = needed.filter((name) => !given.includes(name));
  const strange = given.filter((name) => !needed.includes(name));
  if (missing.length > 0 || strange.length > 0) return { missing, strange };
  return { coordinates, uncertainty, kind: byDeviation ? 'deviations' : 'covariance' };
}
