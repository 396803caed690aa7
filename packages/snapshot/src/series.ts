import { parquetWriteBuffer, type ColumnSource } from 'hyparquet-writer';
import { axes } from './series-read.ts';
import type { ReadingSeries, StationSeries } from '@stillmark/records';

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

const columns = (name: string, data: Float64Array | undefined): ColumnSource[] =>
  data ? [floats(name, data)] : [];

const write = (columnData: ColumnSource[]): Uint8Array =>
  new Uint8Array(
    parquetWriteBuffer({
      columnData,
      rowGroupSize: 20_000,
      pageSize: 16_384,
      statistics: true,
      createdBy: 'stillmark',
    }),
  );

/**
 * The series of a station as two Parquet files: small groups of rows, so that a browser can fetch a span of time by range, and only
 * encodings that a small reader decodes. Millimetres as 32-bit floats, which resolve 0.0001 mm at a metre.
 */
export function encodeSeries({ epochs, windows }: StationSeries): {
  epochs: Uint8Array;
  windows: Uint8Array;
} {
  return {
    epochs: encodeEpochs(epochs),
    windows: write([
      times(windows.timesMs),
      ...axes.flatMap((axis) => columns(`${axis}_mm`, windows[`${axis}_mm`])),
      ...axes.flatMap((axis) => columns(`${axis}_half_mm`, windows[`${axis}Half_mm`])),
      ...axes.flatMap((axis) => columns(`${axis}_less_mm`, windows[`${axis}Less_mm`])),
      ...axes.flatMap((axis) => columns(`${axis}_onto_mm`, windows[`${axis}Onto_mm`])),
    ]),
  };
}

/** Epochs alone, or a level of them, as a Parquet file. */
export function encodeEpochs(epochs: StationSeries['epochs']): Uint8Array {
  return write([
    times(epochs.timesMs),
    ...axes.flatMap((axis) => columns(`${axis}_mm`, epochs[`${axis}_mm`])),
    { name: 'flag', data: Int32Array.from(epochs.flag), type: 'INT32', nullable: false },
  ]);
}

/** The readings of a sensor as a Parquet file. */
export function encodeReadings({ timesMs, values }: ReadingSeries): Uint8Array {
  return write([times(timesMs), floats('value', values)]);
}
