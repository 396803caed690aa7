import type { ReadingSeries, SiteView, StationSeries } from '@stillmark/records';
import { encodeEpochs, encodeReadings, encodeSeries, levelsOf, levelWithin } from '@stillmark/snapshot';

/** Rows of a script that carries a series to pages opened from a folder: some six for a pixel of a figure at the desk. */
const rowsOfScript = 6_000;

/**
 * The series behind the figures of a snapshot: Parquet files, levels of those that are long, and the same as classic scripts, since a page that
 * is opened from a folder may run a script of it but not read a file.
 */
export function* seriesFiles(view: SiteView): Generator<readonly [path: string, content: Uint8Array]> {
  const axes = view.snapshot.project.axes
    ? (['longitudinal', 'transverse', 'up'] as const)
    : (['east', 'north', 'up'] as const);
  for (const station of view.snapshot.stations) {
    for (const { series: paths } of [station, ...station.others]) {
      if (!paths) continue;
      const series = view.series.get(paths.windows)!;
      const encoded = encodeSeries(series);
      yield [paths.epochs, encoded.epochs];
      yield [paths.windows, encoded.windows];
      const levels = levelsOf(series.epochs);
      for (const [i, { epochs }] of levels.entries()) yield [paths.levels![i]!.path, encodeEpochs(epochs)];
      if (paths.script !== undefined)
        yield [paths.script, scriptOf(paths.windows, seriesScript(series, levels.at(-1), axes))];
    }
  }
  for (const { name, series, script } of view.snapshot.sensors) {
    if (series === undefined) continue;
    const readings = view.readings.get(name)!;
    yield [series, encodeReadings(readings)];
    if (script !== undefined)
      yield [script, scriptOf(series, { readings: encodeReadings(fewReadings(readings)) })];
  }
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

/** Readings, or the least and the greatest of each bin of them. */
function fewReadings({ timesMs, values }: ReadingSeries): ReadingSeries {
  const none = new Float64Array(timesMs.length);
  const { epochs } = levelWithin(
    { timesMs, flag: new Uint8Array(timesMs.length), east_mm: none, north_mm: none, up_mm: values },
    rowsOfScript,
  );
  return { timesMs: epochs.timesMs, values: epochs.up_mm };
}
