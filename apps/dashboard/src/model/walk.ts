import { type StationRecord, type StationSeries } from '@stillmark/records';
import { stateIn } from '@stillmark/wording';
import type { MapMovement } from '@stillmark/charts';
import { presentMovement } from './map.ts';
import type { Page } from './page.ts';

/** Single means of all stations at times that follow each other, for the slider of the map. */
export interface Walk {
  readonly timeZone: string;
  /** Middles of the windows that are shown. */
  readonly timesMs: readonly number[];
  /** Which of them was the newest of the snapshot that the site tells its changes against. */
  readonly previous?: number;
  readonly stations: readonly WalkedStation[];
  /** Half-axes of an ellipse over half-widths of its axes alone. */
  readonly ellipseOverInterval: number;
  /** What is stated at present, by station. */
  readonly present: Readonly<Record<string, MapMovement>>;
}

/** Millimetres from the reference position with half-widths of intervals, a value for each time; null where there is no mean. */
export interface WalkedStation {
  readonly id: string;
  readonly east: readonly (number | null)[];
  readonly north: readonly (number | null)[];
  readonly up: readonly (number | null)[];
  readonly eastHalf: readonly (number | null)[];
  readonly northHalf: readonly (number | null)[];
  readonly upHalf: readonly (number | null)[];
}

/** More would weigh more than they show. */
const mostFrames = 80;

/** Undefined where no station has a reference position and means. */
export function walkOf(page: Page): Walk | undefined {
  const { snapshot, view } = page;
  const windowMs = snapshot.settings.windowMs;
  const walked = snapshot.stations.flatMap((station) => {
    const series = station.reference && station.series && view.series.get(station.series.windows);
    return series && series.windows.timesMs.length > 0 ? [{ station, windows: series.windows }] : [];
  });
  if (walked.length === 0) return undefined;
  const first = Math.min(...walked.map(({ windows }) => windows.timesMs[0]!));
  const last = Math.max(...walked.map(({ windows }) => windows.timesMs.at(-1)!));
  // The newest window is always shown; between two frames stands a whole number of windows.
  const step = Math.max(1, Math.ceil((last - first) / windowMs / (mostFrames - 1))) * windowMs;
  const frames = Math.floor((last - first) / step) + 1;
  const evenly = Array.from({ length: frames }, (_, i) => last - (frames - 1 - i) * step);
  const before = view.comparison && Date.parse(view.comparison.before.asOf);
  // The newest window that had ended by then.
  const newest =
    before === undefined ? undefined : last - Math.ceil((last + windowMs / 2 - before) / windowMs) * windowMs;
  const previousMs = newest !== undefined && newest >= first && newest < last ? newest : undefined;
  const timesMs = [...new Set([...evenly, ...(previousMs === undefined ? [] : [previousMs])])].sort(
    (a, b) => a - b,
  );
  return {
    ...(previousMs === undefined ? {} : { previous: timesMs.indexOf(previousMs) }),
    timeZone: snapshot.project.timeZone,
    timesMs,
    ellipseOverInterval: view.ellipseOverInterval,
    present: Object.fromEntries(
      snapshot.stations.flatMap((station) => {
        const movement = presentMovement(page, station);
        return movement ? [[station.id, movement]] : [];
      }),
    ),
    stations: walked.map(({ station, windows }) => walkedStation(page, station, windows, timesMs, windowMs)),
  };
}

function walkedStation(
  { snapshot }: Page,
  station: StationRecord,
  windows: StationSeries['windows'],
  timesMs: readonly number[],
  windowMs: number,
): WalkedStation {
  const { timesMs: own } = windows;
  let at = 0;
  const rows = timesMs.map((t) => {
    while (at < own.length && own[at]! < t - windowMs / 2) at++;
    return at < own.length && own[at]! < t + windowMs / 2 ? at : -1;
  });
  const of = (column: Float64Array): (number | null)[] =>
    rows.map((row) => (row < 0 || Number.isNaN(column[row]!) ? null : Number(column[row]!.toFixed(1))));
  // What is in doubt is shown from the bases that stand still, where it can be.
  const onto = stateIn(snapshot, station) === 'doubted' && windows.eastOnto_mm !== undefined;
  return {
    id: station.id,
    east: of(onto ? windows.eastOnto_mm : windows.east_mm),
    north: of(onto ? windows.northOnto_mm! : windows.north_mm),
    up: of(onto ? windows.upOnto_mm! : windows.up_mm),
    eastHalf: of(windows.eastHalf_mm),
    northHalf: of(windows.northHalf_mm),
    upHalf: of(windows.upHalf_mm),
  };
}
