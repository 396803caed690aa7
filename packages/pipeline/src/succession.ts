import type { Project } from '@stillmark/project';
import type { EpochSeries } from '@stillmark/records';
import { predecessors } from './project-settings.ts';

/** The epochs of a station in one stream, with those of the stations whose place it took before it did; undefined where there are none. */
export function epochsOf(
  project: Project,
  station: string,
  stream: ReadonlyMap<string, EpochSeries> | undefined,
): EpochSeries | undefined {
  const earlier = predecessors(project, station);
  const own = stream?.get(station);
  if (earlier.length === 0 || !stream) return own;
  // From the first predecessor to the station itself, each from when it took its place until the next one did.
  const places = [{ id: station, untilMs: Number.POSITIVE_INFINITY }, ...earlier];
  const parts = places
    .map(({ id, untilMs }, k) =>
      between(stream.get(id), earlier[k]?.untilMs ?? Number.NEGATIVE_INFINITY, untilMs),
    )
    .filter((part) => part !== undefined)
    .reverse();
  const join = (of: (s: EpochSeries) => Float64Array): Float64Array =>
    Float64Array.from(parts.flatMap((part) => Array.from(of(part))));
  const series = {
    stream: parts[0]?.stream ?? '',
    station,
    timesMs: join((s) => s.timesMs),
    xyz: join((s) => s.xyz),
    covariance: join((s) => s.covariance),
  };
  return series.timesMs.length === 0 ? undefined : series;
}

/** The epochs from an instant on and before another. */
function between(series: EpochSeries | undefined, fromMs: number, toMs: number): EpochSeries | undefined {
  if (!series) return undefined;
  const { timesMs } = series;
  let from = 0;
  while (from < timesMs.length && timesMs[from]! < fromMs) from++;
  let to = from;
  while (to < timesMs.length && timesMs[to]! < toMs) to++;
  return {
    ...series,
    timesMs: timesMs.subarray(from, to),
    xyz: series.xyz.subarray(3 * from, 3 * to),
    covariance: series.covariance.subarray(6 * from, 6 * to),
  };
}
