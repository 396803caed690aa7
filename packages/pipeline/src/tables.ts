import type { DisplacementStatement, Snapshot, StreamView } from '@stillmark/records';
import { baseOf, stateIn, stateWords } from '@stillmark/wording';
import { stringify } from 'csv-stringify/sync';

/** A column of a table, for its rows and for its dictionary. */
interface Column<Row> {
  readonly name: string;
  readonly about: string;
  readonly datatype: 'string' | 'number' | 'boolean' | 'dateTime' | 'date';
  readonly unit?: string;
  readonly of: (row: Row) => string | number | boolean | undefined;
}

interface StationRow {
  readonly station: Snapshot['stations'][number];
  readonly view: StreamView;
  readonly primary: boolean;
}

const mm = (value: number | undefined): number | undefined =>
  value === undefined ? undefined : Number(value.toFixed(3));

const displacementOf = ({ view: { statement: s } }: StationRow): DisplacementStatement | undefined =>
  s.kind === 'displacement' ? s : undefined;

function stationColumns(snapshot: Snapshot): Column<StationRow>[] {
  const figure = (
    name: string,
    about: string,
    unit: string,
    of: (s: DisplacementStatement) => number | undefined,
  ): Column<StationRow> => ({
    name,
    about,
    unit,
    datatype: 'number',
    of: (row) => {
      const s = displacementOf(row);
      return s && mm(of(s));
    },
  });
  return [
    { name: 'station', about: 'Id of the station.', datatype: 'string', of: ({ station }) => station.id },
    { name: 'role', about: 'base or monitoring.', datatype: 'string', of: ({ station }) => station.role },
    { name: 'stands_on', about: 'What the antenna stands on.', datatype: 'string', of: ({ station }) => station.on },
    { name: 'stream', about: 'Stream of positions; the first one of a station is stated.', datatype: 'string', of: ({ view }) => view.stream?.name },
    { name: 'base', about: 'Base that the processing holds.', datatype: 'string', of: ({ view }) => baseOf(view) },
    { name: 'stated', about: 'Whether this stream is the one that is stated of the station.', datatype: 'boolean', of: ({ primary }) => primary },
    { name: 'state', about: 'What is stated of the station, in words.', datatype: 'string', of: ({ station }) => stateWords[stateIn(snapshot, station)] },
    { name: 'window_from', about: 'Begin of the means that are stated, UTC.', datatype: 'dateTime', of: (row) => displacementOf(row)?.window.from },
    { name: 'window_to', about: 'End of the means that are stated, UTC.', datatype: 'dateTime', of: (row) => displacementOf(row)?.window.to },
    figure('east_mm', 'Displacement from the reference position to the east.', 'mm', (s) => s.east_mm),
    figure('north_mm', 'The same to the north.', 'mm', (s) => s.north_mm),
    figure('up_mm', 'The same upward.', 'mm', (s) => s.up_mm),
    figure('horizontal_mm', 'Length of the horizontal displacement.', 'mm', (s) => s.horizontal.magnitude_mm),
    figure('horizontal_half_mm', 'Half-width of its interval along its direction, at the confidence of the settings.', 'mm', (s) => s.horizontal.plusMinus_mm),
    figure('azimuth_deg', 'Direction of the horizontal displacement, clockwise from north.', 'deg', (s) => s.horizontal.azimuthDeg),
    figure('up_half_mm', 'Half-width of the interval of the displacement upward.', 'mm', (s) => s.up.plusMinus_mm),
    figure('ellipse_semi_major_mm', 'Larger half-axis of the confidence ellipse.', 'mm', (s) => s.horizontal.ellipse.semiMajor_mm),
    figure('ellipse_semi_minor_mm', 'Smaller half-axis of the confidence ellipse.', 'mm', (s) => s.horizontal.ellipse.semiMinor_mm),
    figure('ellipse_azimuth_deg', 'Direction of the larger half-axis, clockwise from north.', 'deg', (s) => s.horizontal.ellipse.azimuthDeg),
    figure('horizontal_detectable_mm', 'Smallest horizontal movement that would have been found, at the power of the settings.', 'mm', (s) => s.horizontal.detectable_mm),
    figure('up_detectable_mm', 'Smallest movement up or down that would have been found.', 'mm', (s) => s.up.detectable_mm),
    { name: 'horizontal_distinguishable', about: 'Whether the horizontal displacement is told from none by the joint test.', datatype: 'boolean', of: (row) => displacementOf(row)?.horizontal.distinguishable },
    { name: 'up_distinguishable', about: 'The same of the displacement upward.', datatype: 'boolean', of: (row) => displacementOf(row)?.up.distinguishable },
    figure('longitudinal_mm', 'Displacement along the structure.', 'mm', (s) => s.structure?.longitudinal_mm),
    figure('longitudinal_half_mm', 'Half-width of its interval.', 'mm', (s) => s.structure?.longitudinalPlusMinus_mm),
    figure('transverse_mm', 'Displacement across the structure, to the right of longitudinal.', 'mm', (s) => s.structure?.transverse_mm),
    figure('transverse_half_mm', 'Half-width of its interval.', 'mm', (s) => s.structure?.transversePlusMinus_mm),
    figure('rate_days', 'Days to which the rate is referred.', 'd', (s) => s.rate?.perDays),
    figure('rate_horizontal_mm', 'Horizontal movement in that time, as the slope of the last means.', 'mm', (s) => s.rate?.horizontal.magnitude_mm),
    figure('rate_horizontal_half_mm', 'Half-width of its interval.', 'mm', (s) => s.rate?.horizontal.plusMinus_mm),
    figure('rate_up_mm', 'Movement upward in that time.', 'mm', (s) => s.rate?.up?.value_mm),
    figure('rate_up_half_mm', 'Half-width of its interval.', 'mm', (s) => s.rate?.up?.plusMinus_mm),
  ]; // prettier-ignore
}

interface VelocityRow extends StationRow {
  readonly t: NonNullable<StreamView['trajectory']>;
}

const velocityColumns: Column<VelocityRow>[] = [
  { name: 'station', about: 'Id of the station.', datatype: 'string', of: ({ station }) => station.id },
  { name: 'stream', about: 'Stream of positions.', datatype: 'string', of: ({ view }) => view.stream?.name },
  { name: 'from', about: 'Begin of the span that is fitted, UTC.', datatype: 'dateTime', of: ({ t }) => t.velocity.from },
  { name: 'to', about: 'End of that span, UTC.', datatype: 'dateTime', of: ({ t }) => t.velocity.to },
  ...(['east', 'north', 'up'] as const).map((axis): Column<VelocityRow> => (
    { name: `${axis}_mm_a`, about: `Velocity ${axis === 'up' ? 'upward' : `to the ${axis}`}.`, unit: 'mm/a', datatype: 'number', of: ({ t }) => mm(t.velocity[`${axis}_mm`]) }
  )),
  { name: 'horizontal_mm_a', about: 'Horizontal velocity.', unit: 'mm/a', datatype: 'number', of: ({ t }) => mm(t.velocity.horizontal.magnitude_mm) },
  { name: 'horizontal_half_mm_a', about: 'Half-width of its interval.', unit: 'mm/a', datatype: 'number', of: ({ t }) => mm(t.velocity.horizontal.plusMinus_mm) },
  { name: 'up_half_mm_a', about: 'Half-width of the interval upward.', unit: 'mm/a', datatype: 'number', of: ({ t }) => mm(t.velocity.up?.plusMinus_mm) },
]; // prettier-ignore

/** Columns of the Parquet files of series, so that nobody has to guess. */
const seriesColumns = [
  ['time', 'Of an epoch, or the middle of a mean; UTC.'],
  ['east_mm, north_mm, up_mm', 'Displacement from the reference position, or from the mean of the series where none is committed; steps that are no movement are taken off.'],
  ['longitudinal_mm, transverse_mm', 'The same along and across the structure, where it has axes.'],
  ['*_half_mm', 'Half-width of the interval of a mean, at the confidence of the settings.'],
  ['*_less_mm', 'A mean less the committed response to logs.'],
  ['*_onto_mm', 'A mean told from the bases that stand still, where its own base does not.'],
  ['flag', 'Of an epoch: 0 used, 1 outlier, 2 conflict, 3 the same position again.'],
  ['value', 'Reading of a log, in the unit of its sensor.'],
] as const; // prettier-ignore

/**
 * Tables of the site as CSV (RFC 4180) and their dictionary as CSV on the Web (W3C 2015, `tables/metadata.json`). Text that a spreadsheet would take
 * for a formula begins with an apostrophe.
 */
export function tablesOf(snapshot: Snapshot): Map<string, string> {
  const rows = snapshot.stations.flatMap((station) =>
    [station, ...station.others].map((view): StationRow => ({ station, view, primary: view === station })),
  );
  const columns = stationColumns(snapshot);
  const velocities = rows.flatMap((row): VelocityRow[] =>
    row.view.trajectory ? [{ ...row, t: row.view.trajectory }] : [],
  );
  const tables: { file: string; about: string; text: string; columns: readonly Column<never>[] }[] = [
    {
      file: 'stations.csv',
      about: 'What is stated of each station, a row for each stream that sees it.',
      text: csv(rows, columns),
      columns,
    },
    ...(velocities.length > 0
      ? [
          {
            file: 'velocities.csv',
            about: 'How fast each station has moved over all its time.',
            text: csv(velocities, velocityColumns),
            columns: velocityColumns,
          },
        ]
      : []),
  ];
  const metadata = {
    '@context': 'http://www.w3.org/ns/csvw',
    'dc:title': snapshot.project.title,
    'dc:description': `State as of ${snapshot.asOf}. Confidence of intervals ${snapshot.settings.confidence}, power of detectable movements ${snapshot.settings.power}. ${seriesColumns.map(([names, about]) => `Series (Parquet), ${names}: ${about}`).join(' ')}`,
    tables: tables.map(({ file, about, columns: own }) => ({
      url: file,
      'dc:description': about,
      dialect: { header: true, encoding: 'utf-8' },
      tableSchema: {
        columns: own.map(({ name, about: words, datatype, unit }) => ({
          name,
          titles: name,
          'dc:description': unit === undefined ? words : `${words} Unit: ${unit}.`,
          datatype,
          required: false,
        })),
      },
    })),
  };
  return new Map([
    ...tables.map(({ file, text }) => [`tables/${file}`, text] as const),
    ['tables/metadata.json', `${JSON.stringify(metadata, undefined, 1)}\n`],
  ]);
}

function csv<Row>(rows: readonly Row[], columns: readonly Column<Row>[]): string {
  return stringify(
    rows.map((row) =>
      columns.map(({ of, datatype }) => {
        const value = of(row);
        if (value === undefined) return '';
        if (datatype === 'string') return inert(String(value));
        return String(value);
      }),
    ),
    { header: true, columns: columns.map(({ name }) => name), record_delimiter: 'windows' },
  );
}

/** Text that a spreadsheet would take for a formula stays text. */
export function inert(text: string): string {
  return /^\s*[=+@\-\t\r]/.test(text) ? `'${text}` : text;
}

/** Stations as GeoJSON (RFC 7946), with what is stated of them; the outline of the site is the project's own file. */
export function mapGeoJson(snapshot: Snapshot): string {
  const features = snapshot.stations.map((station) => {
    const { statement: s, position } = station;
    return {
      type: 'Feature',
      id: station.id,
      geometry: {
        type: 'Point',
        coordinates: [
          Number(position.longitudeDeg.toFixed(7)),
          Number(position.latitudeDeg.toFixed(7)),
          Number(position.height_m.toFixed(2)),
        ],
      },
      properties: {
        station: station.id,
        role: station.role,
        on: station.on,
        state: stateWords[stateIn(snapshot, station)],
        asOf: snapshot.asOf,
        ...(s.kind === 'displacement'
          ? {
              east_mm: mm(s.east_mm),
              north_mm: mm(s.north_mm),
              up_mm: mm(s.up_mm),
              horizontal_half_mm: mm(s.horizontal.plusMinus_mm),
              up_half_mm: mm(s.up.plusMinus_mm),
              moved: s.horizontal.distinguishable || s.up.distinguishable,
            }
          : {}),
      },
    };
  });
  return `${JSON.stringify({ type: 'FeatureCollection', features }, undefined, 1)}\n`;
}
