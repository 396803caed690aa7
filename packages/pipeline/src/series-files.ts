import type { ReadingSeries, SeriesPaths, SiteView, StationSeries } from '@stillmark/records';
import { encodeEpochs, encodeReadings, encodeSeries, levelsOf, levelWithin } from '@stillmark/snapshot';
import type { Threads } from './threads.ts';

/** Rows of a script that carries a series to pages opened from a folder: some six for a pixel of a figure at the desk. */
const rowsOfScript = 6_000;

export type SeriesFile = readonly [path: string, content: Uint8Array];

/** A series to be written, and where. */
export interface SeriesTask {
  readonly paths: SeriesPaths;
  readonly series: StationSeries;
  /** Those that figures draw: of the structure, or of the map. */
  readonly axes: readonly string[];
}

/**
 * The series behind the figures of a station: Parquet files, levels of those that are long, and the same as a classic script, since a page that
 * is opened from a folder may run a script of it but not read a file.
 */
function filesOfSeries({ paths, series, axes }: SeriesTask): SeriesFile[] {
  const encoded = encodeSeries(series);
  const levels = levelsOf(series.epochs);
  return [
    [paths.epochs, encoded.epochs],
    [paths.windows, encoded.windows],
    ...levels.map(({ epochs }, i): SeriesFile => [paths.levels![i]!.path, encodeEpochs(epochs)]),
    ...(paths.script === undefined
      ? []
      : [[paths.script, scriptOf(paths.windows, seriesScript(series, levels.at(-1), axes))] as const]),
  ];
}

/** The files of all stations and sensors of a snapshot, written by threads where there are any; in their order. */
export async function filesOfSite(view: SiteView, threads: Threads | undefined): Promise<SeriesFile[]> {
  const axes = view.snapshot.project.axes ? ['longitudinal', 'transverse', 'up'] : ['east', 'north', 'up'];
  const series = view.snapshot.stations
    .flatMap((station) => [station, ...station.others])
    .flatMap(({ series: paths }): SeriesTask[] =>
      paths ? [{ paths, series: view.series.get(paths.windows)!, axes }] : [],
    );
  const logs = view.snapshot.sensors.flatMap(({ name, series: path, script }): LogTask[] =>
    path === undefined
      ? []
      : [
          {
            paths: { series: path, ...(script === undefined ? {} : { script }) },
            readings: view.readings.get(name)!,
          },
        ],
  );
  const tasks = [...series, ...logs];
  const files = threads ? await Promise.all(tasks.map((task) => threads.encode(task))) : tasks.map(filesOf);
  return files.flat();
}

/** A log to be written, and where. */
export interface LogTask {
  readonly paths: { readonly series: string; readonly script?: string };
  readonly readings: ReadingSeries;
}

/** The readings of a sensor, in the same two forms. */
function filesOfLog({ paths: { series, script }, readings }: LogTask): SeriesFile[] {
  const whole = encodeReadings(readings);
  if (script === undefined) return [[series, whole]];
  const carried = readings.timesMs.length > rowsOfScript ? encodeReadings(fewReadings(readings)) : whole;
  return [
    [series, whole],
    [script, scriptOf(series, { readings: carried })],
  ];
}

/** The files of either. */
export function filesOf(task: SeriesTask | LogTask): SeriesFile[] {
  return 'series' in task ? filesOfSeries(task) : filesOfLog(task);
}

/** Only what a figure draws: the axes of the structure, or those of the map. */
function seriesScript(
  { epochs, windows }: StationSeries,
  coarsest: ReturnType<typeof levelWithin> | undefined,
  axes: readonly string[],
): Record<string, Uint8Array | number> {
  const level =
    coarsest && coarsest.epochs.timesMs.length <= rowsOfScript ? coarsest : levelWithin(epochs, rowsOfScript);
  const drawn = <T extends object>(columns: T): T =>
    Object.fromEntries(
      Object.entries(columns).filter(
        ([key]) =>
          !key.endsWith('_mm') || axes.some((axis) => new RegExp(`^${axis}(Half|Less|Onto)?_mm$`).test(key)),
      ),
    ) as T;
  const encoded = encodeSeries({ epochs: drawn(level.epochs), windows: drawn(windows) });
  return { binMs: level.binMs, epochs: encoded.epochs, windows: encoded.windows };
}

function scriptOf(path: string, parts: Record<string, Uint8Array | number>): Uint8Array {
  const text = Object.fromEntries(
    Object.entries(parts).map(([name, part]) => [
      name,
      typeof part === 'number' ? part : Buffer.from(part).toString('base64'),
    ]),
  );
  return new TextEncoder().encode(
    `(globalThis.stillmarkSeries??={})[${JSON.stringify(path)}]=${JSON.stringify(text)};\n`,
  );
}

/** The least and the greatest readings of each bin of a long log. */
function fewReadings({ timesMs, values }: ReadingSeries): ReadingSeries {
  const none = new Float64Array(timesMs.length);
  const { epochs } = levelWithin(
    { timesMs, flag: new Uint8Array(timesMs.length), east_mm: none, north_mm: none, up_mm: values },
    rowsOfScript,
  );
  return { timesMs: epochs.timesMs, values: epochs.up_mm };
}
