import { profile, smallTimeline, type ProfileLine } from '@stillmark/charts';
import type { StationRecord, StationSeries, StreamView } from '@stillmark/records';
import { count, seenText, siteSentence } from '@stillmark/wording';
import { axisNames, t } from '@stillmark/words';
import { smallTimelineSize, type MultiplesTask, type MultipleWords } from '../browser/multiples-task.ts';
import type { FigureSize } from '../browser/zoom-task.ts';
import type { Page } from './page.ts';
import { drawingScript, figureAxes } from './timeline.ts';
import { walkOf, type WalkedStation } from './walk.ts';

/** A station with the series that shows it. */
export interface Multiple {
  readonly station: StationRecord;
  readonly view: StreamView;
  readonly windows: StationSeries['windows'];
}

/** Of each station the first stream that has a series. */
export function multiplesOf({ snapshot, view: site }: Page): Multiple[] {
  return snapshot.stations.flatMap((station) => {
    const view = [station, ...station.others].find((v) => v.series);
    const series = view?.series && site.series.get(view.series.windows);
    return view && series && series.windows.timesMs.length > 0
      ? [{ station, view, windows: series.windows }]
      : [];
  });
}

/** One scale of movement and of time for all. */
export interface MultiplesScale {
  readonly span: { readonly fromMs: number; readonly toMs: number };
  readonly limit_mm: number;
}

export function multiplesScale(page: Page, all: readonly Multiple[]): MultiplesScale {
  const fromMs = Math.min(...all.map(({ windows }) => windows.timesMs[0]!));
  const toMs = Math.max(...all.map(({ windows }) => windows.timesMs.at(-1)!));
  // Of each axis of each station nearly all means lie within the scale; the few beyond it are counted on the figure.
  const reach = all.flatMap(({ windows }) =>
    figureAxes(page).map(({ axis }) => {
      const sizes = Float64Array.from(windows[`${axis}_mm`] ?? [0], Math.abs).sort();
      return sizes[Math.floor(0.995 * (sizes.length - 1))]!;
    }),
  );
  const most = Math.max(1, ...reach);
  const power = 10 ** Math.floor(Math.log10(most));
  const limit = [1, 1.5, 2, 3, 4, 5, 6, 8, 10].find((s) => s * power >= most)! * power;
  return { span: { fromMs, toMs }, limit_mm: limit };
}

export function drawMultiple(
  page: Page,
  multiple: Multiple,
  scale: MultiplesScale,
  size: FigureSize,
): string {
  return smallTimeline({
    ...smallTimelineSize(multiple.station.id, size),
    ...multipleWords(page, multiple),
    axes: figureAxes(page),
    windows: multiple.windows,
    ...scale,
    zone: page.clock,
  });
}

/** The words of a small timeline, and its reference period. */
function multipleWords(page: Page, { station, view }: Multiple): MultipleWords {
  const { reference } = view;
  const seen = view === station || !view.stream ? undefined : seenText(view.stream);
  return {
    title:
      seen === undefined
        ? t`Movement of ${station.id} against time`
        : t`Movement of ${station.id} against time, ${seen}`,
    description: siteSentence(page.snapshot, station, page.clock),
    ...(reference
      ? { reference: { fromMs: Date.parse(reference.from), toMs: Date.parse(reference.to) } }
      : {}),
  };
}

/** What the script of the page is handed to draw another span of all stations. */
export function multiplesTask(page: Page, all: readonly Multiple[], scale: MultiplesScale): string {
  const { root } = page;
  const task: MultiplesTask = {
    drawing: root + drawingScript,
    timeZone: page.snapshot.project.timeZone,
    axes: figureAxes(page),
    ...scale,
    stations: all.map((multiple) => {
      const { windows, script } = multiple.view.series!;
      return {
        id: multiple.station.id,
        windows: root + windows,
        ...(script === undefined ? {} : { carried: { script: root + script, name: windows } }),
        words: multipleWords(page, multiple),
      };
    }),
  };
  return JSON.stringify(task);
}

/** Dates of the profile, the newest last. */
const profileDates = 5;

/** Movement along the structure at dates spread over the time; undefined without axes of the structure or where fewer than three stations stand along it. */
export function profileOf(page: Page): ((size: 'wide' | 'narrow') => string) | undefined {
  const { axes } = page.snapshot.project;
  const walk = walkOf(page);
  if (!axes || !walk) return undefined;
  const azimuth = (axes.longitudinalAzimuthDeg * Math.PI) / 180;
  const [ue, un] = [Math.sin(azimuth), Math.cos(azimuth)];
  const stations = page.snapshot.stations
    .filter(({ id, role }) => role === 'monitoring' && walk.stations.some((s) => s.id === id))
    .map(({ id, position }) => ({ id, at_m: position.east_m * ue + position.north_m * un }))
    .sort((a, b) => a.at_m - b.at_m);
  if (stations.length < 3) return undefined;
  const last = walk.timesMs.length - 1;
  const frames = Array.from({ length: profileDates }, (_, i) => Math.round((last * (i + 1)) / profileDates));
  // Transverse points to the right of longitudinal.
  const panels = [
    { name: axisNames.longitudinal, east: ue, north: un, up: 0 },
    { name: axes.transverse ?? axisNames.transverse, east: un, north: -ue, up: 0 },
    { name: axisNames.up, east: 0, north: 0, up: 1 },
  ].map(({ name, ...unit }) => ({
    name,
    lines: [...new Set(frames)].map((frame): ProfileLine => ({
      text: page.clock.dateTime(walk.timesMs[frame]!),
      points: stations.flatMap(({ id, at_m }) => {
        const point = along(
          walk.stations.find((s) => s.id === id)!,
          frame,
          unit,
        );
        return point ? [{ at_m, ...point }] : [];
      }),
    })),
  }));
  return (size) =>
    profile({
      id: `profile-${size}`,
      width: size === 'wide' ? 880 : 360,
      title: t`Movement along the structure`,
      description: t`Single means of ${count(stations.length, 'station')} at ${count(frames.length, 'date')}, in the order in which they stand along the structure.`,
      stations,
      panels,
    });
}

function along(
  s: WalkedStation,
  frame: number,
  unit: { readonly east: number; readonly north: number; readonly up: number },
): { value_mm: number; half_mm: number } | undefined {
  const [e, n, u] = [s.east[frame], s.north[frame], s.up[frame]];
  if (typeof e !== 'number' || typeof n !== 'number' || typeof u !== 'number') return undefined;
  const half = (column: 'eastHalf' | 'northHalf' | 'upHalf'): number => s[column][frame] ?? Number.NaN;
  if (Number.isNaN(half('eastHalf') + half('northHalf') + half('upHalf'))) return undefined;
  return {
    value_mm: e * unit.east + n * unit.north + u * unit.up,
    // East and north are taken as independent, as their noise is estimated.
    half_mm: Math.hypot(
      half('eastHalf') * unit.east,
      half('northHalf') * unit.north,
      half('upHalf') * unit.up,
    ),
  };
}
