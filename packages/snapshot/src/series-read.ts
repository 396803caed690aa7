import { parquetMetadataAsync, parquetReadObjects, type AsyncBuffer } from 'hyparquet';
import type { ReadingSeries, StationSeries } from '@stillmark/records';

/** Axes in the order of the columns of series. */
export const axes = ['east', 'north', 'up', 'longitudinal', 'transverse'] as const;

/** What is read of a Parquet file: its bytes, or something that fetches them by range. */
export type SeriesFile = Uint8Array | ArrayBuffer | AsyncBuffer;

/** Milliseconds of UTC. */
export interface TimeSpan {
  readonly fromMs: number;
  readonly toMs: number;
}

/**
 * Reads the series of a station. Of a file that is fetched by range only the groups of rows are read that reach into the
 * span; what lies outside it within them is read too.
 */
export async function decodeSeries(
  files: { epochs: SeriesFile; windows: SeriesFile },
  span?: TimeSpan,
): Promise<StationSeries> {
  const [epochs, windows] = await Promise.all([
    columnsOf(files.epochs, span),
    columnsOf(files.windows, span),
  ]);
  const values = (
    read: (name: string) => Float64Array | undefined,
    ending: string,
    key: string,
  ): Record<string, Float64Array> =>
    Object.fromEntries(
      axes.flatMap((axis) => {
        const column = read(`${axis}${ending}`);
        return column ? [[`${axis}${key}`, column]] : [];
      }),
    );
  return {
    epochs: {
      timesMs: epochs('time')!,
      flag: Uint8Array.from(epochs('flag')!),
      ...values(epochs, '_mm', '_mm'),
    },
    windows: {
      timesMs: windows('time')!,
      ...values(windows, '_mm', '_mm'),
      ...values(windows, '_half_mm', 'Half_mm'),
      ...values(windows, '_less_mm', 'Less_mm'),
      ...values(windows, '_onto_mm', 'Onto_mm'),
    },
  } as unknown as StationSeries;
}

/** Reads the readings of a sensor. */
export async function decodeReadings(file: SeriesFile, span?: TimeSpan): Promise<ReadingSeries> {
  const column = await columnsOf(file, span);
  return { timesMs: column('time')!, values: column('value')! };
}

async function columnsOf(
  given: SeriesFile,
  span: TimeSpan | undefined,
): Promise<(name: string) => Float64Array | undefined> {
  const file = given instanceof Uint8Array ? given.slice().buffer : given;
  const metadata = await parquetMetadataAsync(file, { initialFetchSize: 65_536 });
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
  const rows = rowEnd > 0 ? await parquetReadObjects({ file, metadata, rowStart, rowEnd }) : [];
  return (name) =>
    rows.length > 0 && !(name in rows[0]!) ? undefined : Float64Array.from(rows, (r) => Number(r[name]));
}
