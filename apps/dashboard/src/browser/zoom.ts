import {
  timeline,
  timelineMargin,
  timelineRanges,
  type AxisRange,
  type TimelineTask,
} from '@stillmark/charts';
import type { ReadingSeries } from '@stillmark/records';
import { ZoneClock } from '@stillmark/wording';
import { multiplesDrawer } from './multiples.ts';
import { SeriesSource } from './series-source.ts';
import { speakAsPage } from './words.ts';
import type { FigureSize, Shown, SpanDrawer, ZoomTask } from './zoom-task.ts';

const widths: Record<FigureSize, number> = { wide: 880, narrow: 360 };
const noReadings: ReadingSeries = { timesMs: new Float64Array(0), values: new Float64Array(0) };

speakAsPage(document);

globalThis.stillmarkMultiples = multiplesDrawer;

/** Draws spans of a timeline, by the function that drew the page. */
globalThis.stillmarkZoom = (task: ZoomTask, served: boolean, arrived: () => void): SpanDrawer => {
  const zone = new ZoneClock(task.timeZone);
  const source = new SeriesSource(
    task,
    task.words.axes.map(({ axis }) => axis),
    served,
  );
  let scale: { readonly axis: Shown['axis']; readonly ranges: readonly AxisRange[] } | undefined;
  const pixels = widths.wide - timelineMargin.left - timelineMargin.right;
  const binsOf = async (binMs: number): Promise<number> => binMs || source.finest();

  const timelineOf = (
    { span, axis }: Shown,
    drawn: Pick<TimelineTask, 'series'> & { binMs: number; readings: readonly (ReadingSeries | undefined)[] },
  ): Omit<TimelineTask, 'id' | 'width'> => ({
    ...task.words,
    axes: axis === undefined ? task.words.axes : task.words.axes.filter((a) => a.axis === axis),
    series: drawn.series,
    ...(drawn.binMs > 0 ? { binMs: drawn.binMs } : {}),
    sensors: task.sensors.map(({ name, unit }, i) => ({
      name,
      unit,
      readings: drawn.readings[i] ?? noReadings,
    })),
    span,
    zone,
  });
  const atSize = (size: FigureSize): { id: string; width: number } => ({
    id: `timeline-${size}`,
    width: widths[size],
  });

  let carriedBins = 0;
  let drawings = 0;
  return {
    async draw(shown) {
      const mine = ++drawings;
      const level = source.levelFor(shown.span, pixels);
      const [epochs, windows, readings, binMs] = await Promise.all([
        level.part.of(shown.span),
        source.windows.of(shown.span),
        Promise.all(source.sensors.map((sensor) => sensor.of(shown.span))),
        binsOf(level.binMs),
      ]);
      const drawn = timelineOf(shown, { series: { epochs, windows }, binMs, readings });
      const ranges = timelineRanges({ ...drawn, ...atSize('wide') });
      // One that was overtaken leaves its scale to nobody.
      if (mine === drawings) {
        carriedBins = served ? 0 : binMs;
        scale = { axis: shown.axis, ranges };
      }
      return {
        wide: timeline({ ...drawn, ...atSize('wide'), ranges }),
        narrow: timeline({ ...drawn, ...atSize('narrow'), ranges }),
      };
    },

    sketch(shown, size) {
      const { span } = shown;
      const wanted = source.levelFor(span, pixels);
      for (const part of [wanted.part, source.windows, ...source.sensors]) part.prepare(span, arrived);
      const found = source.nearest(span, wanted);
      const windows = source.windows.at(span);
      if (!found || !windows) return undefined;
      const drawn = timelineOf(shown, {
        series: { epochs: found.data, windows: windows.data },
        binMs: found.level.binMs || carriedBins,
        readings: source.sensors.map((sensor) => sensor.at(span)?.data),
      });
      if (scale?.axis !== shown.axis)
        scale = { axis: shown.axis, ranges: timelineRanges({ ...drawn, ...atSize('wide') }) };
      return timeline({ ...drawn, ...atSize(size), ranges: scale!.ranges });
    },

    coarse: source.finest,
  };
};
