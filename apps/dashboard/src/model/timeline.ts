import { timeline, type TimelineAxis, type TimelineTask } from '@stillmark/charts';
import type { EventRecord, StationRecord, StreamView } from '@stillmark/records';
import { baseOf, commas, levelSize, paragraph, seenText, stationSentence } from '@stillmark/wording';
import { axisNames, t } from '@stillmark/words';
import type { ZoomTask } from '../browser/zoom-task.ts';
import { confidenceText, type Page } from './page.ts';

/** Events that concern a station: its own, those of its base, and those of the whole site. Numbered as on its figure. */
export function eventsOf(
  { snapshot }: Page,
  station: StationRecord,
  view: StreamView,
): (EventRecord & { readonly number: number; readonly shown: boolean })[] {
  const { data } = view;
  const [first, last] = data ? [Date.parse(data.first), Date.parse(data.last)] : [0, 0];
  return snapshot.project.events
    .filter(
      (event) =>
        (event.station === undefined || event.station === station.id || event.station === baseOf(view)) &&
        (event.stream === undefined || event.stream === view.stream?.name),
    )
    .map((event, i) => {
      const at = Date.parse(event.at);
      return { ...event, number: i + 1, shown: at >= first && at <= last };
    });
}

/** The axes of a figure: the structure's where it has them. */
export function figureAxes({ snapshot }: Page): { axis: TimelineAxis; name: string }[] {
  const { axes } = snapshot.project;
  if (!axes) return (['east', 'north', 'up'] as const).map((axis) => ({ axis, name: axisNames[axis] }));
  return [
    { axis: 'longitudinal', name: axisNames.longitudinal },
    { axis: 'transverse', name: axes.transverse === undefined ? axisNames.transverse : axes.transverse },
    { axis: 'up', name: axisNames.up },
  ];
}

/** Everything of a timeline but what it is drawn from and how large. */
export type TimelineWords = Omit<TimelineTask, 'id' | 'width' | 'series' | 'sensors' | 'span' | 'zone'>;

export function timelineWords(page: Page, station: StationRecord, view: StreamView): TimelineWords {
  const { statement, reference } = view;
  const span = (s: { from: string; to: string }): { fromMs: number; toMs: number } => ({
    fromMs: Date.parse(s.from),
    toMs: Date.parse(s.to),
  });
  const seen = view === station || !view.stream ? undefined : seenText(view.stream);
  const axes = figureAxes(page);
  const names = commas(axes.map(({ name }) => name));
  return {
    title:
      seen === undefined
        ? t`Position of ${station.id} against time`
        : t`Position of ${station.id} against time, ${seen}`,
    description: paragraph([
      reference
        ? t`${names} in millimetres from the reference position.`
        : t`${names} in millimetres from the mean of the series.`,
      stationSentence({ ...view, id: station.id, role: station.role }, page.snapshot.settings, page.clock),
    ]),
    axes,
    windowMs: page.snapshot.settings.windowMs,
    confidence: confidenceText(page.snapshot),
    ...(reference ? { reference: span(reference) } : {}),
    ...(statement.kind === 'displacement' ? { present: span(statement.window) } : {}),
    ...levelsOn(page, station, view, axes),
    events: eventsOf(page, station, view)
      .filter(({ shown }) => shown)
      .map(({ at, number }) => ({ timeMs: Date.parse(at), number })),
  };
}

/** Levels of movements along the axes of the figure, of triggers that count and watch this station in this stream. */
function levelsOn(
  { snapshot }: Page,
  station: StationRecord,
  view: StreamView,
  axes: readonly { readonly axis: TimelineAxis }[],
): Pick<TimelineTask, 'levels'> {
  const levels = snapshot.triggers.flatMap(
    ({ quantity, rateOverMs, figures, side, levels: own, watched, unit }) => {
      const shown = axes.find(({ axis }) => axis === quantity);
      const here = watched.some(
        ({ of, stream, state }) =>
          of === station.id && stream === view.stream?.name && state.condition !== 'ended',
      );
      if (!shown || rateOverMs !== undefined || figures !== 'raw' || !here) return [];
      const signs = side === 'either' ? [1, -1] : side === 'positive' ? [1] : [-1];
      return own.flatMap(({ name, at }, i) =>
        signs.map((sign) => ({
          axis: shown.axis,
          at_mm: sign * at,
          text: t`level ${i + 1} ${name}, ${levelSize({ unit }, sign * at)}`,
        })),
      );
    },
  );
  return levels.length > 0 ? { levels } : {};
}

export function drawTimeline(
  page: Page,
  station: StationRecord,
  view: StreamView,
  size: 'wide' | 'narrow',
): string {
  return timeline({
    ...timelineWords(page, station, view),
    id: `timeline-${size}`,
    width: size === 'wide' ? 880 : 360,
    series: page.view.series.get(view.series!.windows)!,
    zone: page.clock,
    sensors: page.snapshot.sensors.flatMap(({ name, what, unit }) => {
      const readings = page.view.readings.get(name);
      return readings ? [{ name: what, unit, readings }] : [];
    }),
  });
}

/** The script that draws spans anew, which is fetched when one is asked for: most readers never do. */
export const drawingScript = 'assets/stillmark-zoom.js';

/** What the script of the zoom is handed: addresses of the data, and the words of the figure. */
export function zoomTask(page: Page, station: StationRecord, view: StreamView): string {
  const { root, snapshot } = page;
  const { epochs, windows, levels = [], script } = view.series!;
  const carried = (by: string | undefined, name: string): Pick<ZoomTask, 'carried'> =>
    by === undefined ? {} : { carried: { script: root + by, name } };
  const task: ZoomTask = {
    drawing: root + drawingScript,
    epochs: root + epochs,
    windows: root + windows,
    levels: levels.map(({ binMs, path }) => ({ binMs, address: root + path })),
    ...carried(script, windows),
    sensors: snapshot.sensors.flatMap(({ what, unit, series, script: by }) =>
      series === undefined ? [] : [{ name: what, unit, address: root + series, ...carried(by, series) }],
    ),
    timeZone: snapshot.project.timeZone,
    firstMs: Date.parse(view.data!.first),
    lastMs: Date.parse(view.data!.last),
    count: view.data!.epochs,
    words: timelineWords(page, station, view),
  };
  return JSON.stringify(task);
}
