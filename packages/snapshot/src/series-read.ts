import { parquetMetadataAsync, parquetRead, type AsyncBuffer, type FileMetaData } from 'hyparquet';
import type { ReadingSeries, StationSeries } from '@stillmark/records';

/** Axes in the order of the columns of series. */
export const axes = ['east', 'north', 'up', 'longitudinal', 'transverse'] as const;
export type SeriesAxis = (typeof axes)[number];

/** What is read of a Parquet file: its bytes, or something that fetches them by range. */
export type SeriesFile = Uint8Array | ArrayBuffer | AsyncBuffer;

/** Milliseconds of UTC. */
export interface TimeSpan {
  readonly fromMs: number;
  readonly toMs: number;
}

/** A file of series with what its foot says, read once however often parts of the file are. */
export interface OpenSeries {
  readonly file: ArrayBuffer | AsyncBuffer;
  readonly metadata: FileMetaData;
}

/** Reads the foot of a file. */
export async function openSeries(given: SeriesFile): Promise<OpenSeries> {
  const file = given instanceof Uint8Array ? given.slice().buffer : given;
  return { file, metadata: await parquetMetadataAsync(file, { initialFetchSize: 65_536 }) };
}

/**
 * Reads the series of a station. Of a file that is fetched by range only the groups of rows are read that reach into the
 * span; what lies outside it within them is read too.
 */
export async function decodeSeries(
  files: { epochs: SeriesFile; windows: SeriesFile },
  span?: TimeSpan,
): Promise<StationSeries> {
  const [epochs, windows] = await Promise.all([openSeries(files.epochs), openSeries(files.windows)]);
  const [e, w] = await Promise.all([readEpochs(epochs, span), readWindows(windows, span)]);
  return { epochs: e, windows: w };
}

/** Reads epochs, or a level of them; of some axes only where they are named. */
export async function readEpochs(
  from: OpenSeries,
  span?: TimeSpan,
  of: readonly SeriesAxis[] = axes,
): Promise<StationSeries['epochs']> {
  const column = await columnsOf(from, span, ['time', 'flag', ...of.map((axis) => `${axis}_mm`)]);
  return {
    timesMs: column('time')!,
    flag: Uint8Array.from(column('flag')!),
    ...valuesOf(column, of, '_mm', '_mm'),
  } as unknown as StationSeries['epochs'];
}

/** What stands in a file of means for each axis: how its column ends, and the name of it. */
const windowColumns = {
  _mm: '_mm',
  _half_mm: 'Half_mm',
  _less_mm: 'Less_mm',
  _onto_mm: 'Onto_mm',
};

/** Reads means; of some axes, or without what is not drawn of them, where that is said. */
export async function readWindows(
  from: OpenSeries,
  span?: TimeSpan,
  of: readonly SeriesAxis[] = axes,
  endings: Partial<typeof windowColumns> = windowColumns,
): Promise<StationSeries['windows']> {
  const names = of.flatMap((axis) => Object.keys(endings).map((ending) => `${axis}${ending}`));
  const column = await columnsOf(from, span, ['time', ...names]);
  return Object.assign(
    { timesMs: column('time')! },
    ...Object.entries(endings).map(([ending, key]) => valuesOf(column, of, ending, key)),
  ) as StationSeries['windows'];
}

/** Reads the readings of a sensor. */
export async function decodeReadings(file: SeriesFile, span?: TimeSpan): Promise<ReadingSeries> {
  return readReadings(await openSeries(file), span);
}

/** Reads the readings of a sensor from a file that is open. */
export async function readReadings(from: OpenSeries, span?: TimeSpan): Promise<ReadingSeries> {
  const column = await columnsOf(from, span, ['time', 'value']);
  return { timesMs: column('time')!, values: column('value')! };
}

type Columns = (name: string) => Float64Array | undefined;

function valuesOf(
  column: Columns,
  of: readonly SeriesAxis[],
  ending: string,
  key: string,
): Record<string, Float64Array> {
  return Object.fromEntries(
    of.flatMap((axis) => {
      const values = column(`${axis}${ending}`);
      return values ? [[`${axis}${key}`, values]] : [];
    }),
  );
}

/** Times as numbers: a date for each of ten thousand rows would be made only to be taken apart again. */
const parsers = {
  timestampFromMilliseconds: Number,
  timestampFromMicroseconds: (micros: bigint): number => Number(micros) / 1000,
};

/** The columns that are there of those that are wanted, from the groups of rows that reach into the span. */
async function columnsOf(
  { file, metadata }: OpenSeries,
  span: TimeSpan | undefined,
  wanted: readonly string[],
): Promise<Columns> {
  let [rowStart, rowEnd, row] = [Number.POSITIVE_INFINITY, 0, 0];
  for (const group of metadata.row_groups) {
    const { min_value: least, max_value: most } = group.columns[0]?.meta_data?.statistics ?? {};
    const rows = Number(group.num_rows);
    const reaches =
      !span ||
      !(least instanceof Date && most instanceof Date) ||
      (most.getTime() >= span.fromMs && least.getTime() <= span.toMs);
    if (reaches) [rowStart, rowEnd] = [Math.min(rowStart, row), row + rows];
    row += rows;
  }
  const there = new Set(metadata.schema.slice(1).map(({ name }) => name));
  const names = wanted.filter((name) => there.has(name));
  const length = rowEnd > 0 ? rowEnd - rowStart : 0;
  const read = new Map(names.map((name) => [name, new Float64Array(length)]));
  if (length > 0)
    await parquetRead({
      file,
      metadata,
      rowStart,
      rowEnd,
      columns: names,
      parsers,
      // Whole groups are asked for, so that no chunk reaches beyond them.
      onChunk: ({ columnName, columnData, rowStart: at }) =>
        read.get(columnName)!.set(columnData as ArrayLike<number>, at - rowStart),
    });
  return (name) => read.get(name);
}
