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

type Axis = 'e' | 'n' | 'u' | 'x' | 'y' | 'z';
const axisNames = { e: 'east', n: 'north', u: 'up', x: 'X', y: 'Y', z: 'Z' } as const;

/** Names of elements, such as xy, with what each means by its two letters. */
function columnsOfElements<N extends string>(
  names: readonly N[],
  meaning: (first: Axis, second: Axis) => string,
): Record<N, string> {
  return Object.fromEntries(names.map((name) => [name, meaning(name[0] as Axis, name[1] as Axis)])) as Record<
    N,
    string
  >;
}

const covarianceOf = (a: Axis, b: Axis): string =>
  a === b ? `Variance of ${axisNames[a]}.` : `Covariance of ${axisNames[a]} and ${axisNames[b]}.`;
const deviationOf = (_: unknown, a: Axis): string => `Standard deviation of ${axisNames[a]}.`;

/** What stands in each of them. */
const columnMeanings: Readonly<Record<PositionColumn, string>> = {
  station: 'Id of the station.',
  time: 'Time of the position.',
  x: 'Geocentric X.',
  y: 'Geocentric Y.',
  z: 'Geocentric Z.',
  latitude: 'Degrees, north positive.',
  longitude: 'Degrees, east positive.',
  height: 'Above the ellipsoid, in the unit of positions.',
  easting: 'Map coordinate to the east.',
  northing: 'Map coordinate to the north.',
  siteX: 'Coordinate x on the grid of the site.',
  siteY: 'Coordinate y on the grid of the site.',
  ...columnsOfElements(covariances.geocentric, covarianceOf),
  ...columnsOfElements(covariances.local, covarianceOf),
  ...columnsOfElements(deviations.geocentric, deviationOf),
  ...columnsOfElements(deviations.local, deviationOf),
};

export const columnsSchema = z
  .strictObject(
    Object.fromEntries(
      positionColumns.map((name) => [name, text.optional().describe(columnMeanings[name])]),
    ) as Record<PositionColumn, z.ZodOptional<typeof text>>,
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
      .transform((name) => delimiters[name])
      .describe('What stands between fields.'),
    decimal: z.enum(['.', ',']).default('.').describe('Decimal sign.'),
    time: z
      .string()
      .regex(
        /^(?=.*YYYY)(?=.*MM)(?=.*DD)(?=.*HH)(?=.*mm)[^A-Za-z]*(?:(?:YYYY|MM|DD|HH|mm|ss)[^A-Za-z]*)+$/,
        'a form of time has YYYY, MM, DD, HH and mm, and may have ss',
      )
      .optional()
      .meta({ examples: ['DD.MM.YYYY HH:mm:ss', 'MM/DD/YYYY HH:mm'] })
      .describe(
        'Form of the times, where they are not ISO 8601: YYYY, MM, DD, HH, mm and ss with signs between.',
      ),
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
