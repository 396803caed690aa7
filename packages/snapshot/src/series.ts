import { parquetReadObjects } from 'hyparquet';
import { parquetWriteBuffer, type ColumnSource } from 'hyparquet-writer';
import type { StationSeries } from '@stillmark/records';

const floats = (name: string, data: Float64Array): ColumnSource => ({
  name,
  data: Float32Array.from(data),
  type: 'FLOAT',
  nullable: false,
  encoding: 'BYTE_STREAM_SPLIT',
});

const times = (timesMs: Float64Array): ColumnSource => ({
  name: 'time',
  data: Array.from(timesMs, (ms) => new Date(ms)),
  type: 'TIMESTAMP',
  nullable: false,
  encoding: 'DELTA_BINARY_PACKED',
});

const write = (columnData: ColumnSource[]): Uint8Array =>
  new Uint8Array(
    parquetWriteBuffer({
      columnData,
      rowGroupSize: 100_000,
      pageSize: 16_384,
      statistics: true,
      createdBy: 'stillmark',
    }),
  );

/**
 * The series of a station as two Parquet files: small pages, so that a browser can fetch a span of time by range, and only
 * encodings that a small reader decodes. Millimetres as 32-bit floats, which resolve 0.0001 mm at a metre.
 */
export function encodeSeries({ epochs, windows }: StationSeries): {
  epochs: Uint8Array;
  windows: Uint8Array;
} {
  return {
    epochs: write([
      times(epochs.timesMs),
      floats('east_mm', epochs.east_mm),
      floats('north_mm', epochs.north_mm),
      floats('up_mm', epochs.up_mm),
      { name: 'flag', data: Int32Array.from(epochs.flag), type: 'INT32', nullable: false },
    ]),
    windows: write([
      times(windows.timesMs),
      floats('east_mm', windows.east_mm),
      floats('north_mm', windows.north_mm),
      floats('up_mm', windows.up_mm),
      floats('east_half_mm', windows.eastHalf_mm),
      floats('north_half_mm', windows.northHalf_mm),
      floats('up_half_mm', windows.upHalf_mm),
    ]),
  };
}

/** Reads what {@link encodeSeries} wrote. */
export async function decodeSeries(files: {
  epochs: Uint8Array;
  windows: Uint8Array;
}): Promise<StationSeries> {
  const epochs = await columnsOf(files.epochs);
  const windows = await columnsOf(files.windows);
  return {
    epochs: {
      timesMs: epochs('time'),
      east_mm: epochs('east_mm'),
      north_mm: epochs('north_mm'),
      up_mm: epochs('up_mm'),
      flag: Uint8Array.from(epochs('flag')),
    },
    windows: {
      timesMs: windows('time'),
      east_mm: windows('east_mm'),
      north_mm: windows('north_mm'),
      up_mm: windows('up_mm'),
      eastHalf_mm: windows('east_half_mm'),
      northHalf_mm: windows('north_half_mm'),
      upHalf_mm: windows('up_half_mm'),
    },
  };
}

async function columnsOf(bytes: Uint8Array): Promise<(name: string) => Float64Array> {
  const rows = await parquetReadObjects({ file: bytes.slice().buffer });
  return (name) => Float64Array.from(rows, (row) => Number(row[name]));
}
