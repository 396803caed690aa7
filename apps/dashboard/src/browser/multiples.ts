import { smallTimeline } from '@stillmark/charts';
import type { StationSeries } from '@stillmark/records';
import { readWindows, type TimeSpan } from '@stillmark/snapshot/series';
import { ZoneClock } from '@stillmark/wording';
import { smallTimelineSize, type MultiplesTask } from './multiples-task.ts';
import { fetched, handedOver } from './open-series.ts';
import { once } from './once.ts';
import type { FigureSize } from './zoom-task.ts';

/** Draws a span of one station, by the function that drew the page, from means that are read once. */
export type MultiplesDrawer = (span: TimeSpan) => Promise<(id: string, size: FigureSize) => string>;

export function multiplesDrawer(task: MultiplesTask, served: boolean): MultiplesDrawer {
  const zone = new ZoneClock(task.timeZone);
  const { axes, limit_mm } = task;
  const all = once(async () => {
    const entries = task.stations.map(async ({ id, windows, carried }) => {
      const file = served ? await fetched(windows) : await handedOver(carried, 'windows');
      const drawn = { _mm: '_mm', _half_mm: 'Half_mm' };
      return [id, await readWindows(file, undefined, axes.map(({ axis }) => axis), drawn)] as const; // prettier-ignore
    });
    return new Map<string, StationSeries['windows']>(await Promise.all(entries));
  });
  return async (span) => {
    const windows = await all();
    return (id, size) => {
      const { words } = task.stations.find((s) => s.id === id)!;
      const own = { ...smallTimelineSize(id, size), ...words, windows: windows.get(id)! };
      return smallTimeline({ ...own, axes, limit_mm, span, zone });
    };
  };
}
