import type { SmallTimelineTask } from '@stillmark/charts';
import type { TimeSpan } from '@stillmark/snapshot/series';
import type { MultiplesDrawer } from './multiples.ts';
import type { CarriedSeries, FigureSize } from './zoom-task.ts';

export type MultipleWords = Pick<SmallTimelineTask, 'title' | 'description' | 'reference'>;

/** What the page of all stations hands its script to draw another span of them. Addresses are relative to the page. */
export interface MultiplesTask {
  /** The code that draws. */
  readonly drawing: string;
  readonly timeZone: string;
  readonly axes: SmallTimelineTask['axes'];
  /** The whole, and the scale of all. */
  readonly span: TimeSpan;
  readonly limit_mm: number;
  readonly stations: readonly {
    readonly id: string;
    /** The file of its means. */
    readonly windows: string;
    readonly carried?: CarriedSeries;
    readonly words: MultipleWords;
  }[];
}

declare global {
  /** Set by the second script; `served` where the site can be asked for its files. */
  var stillmarkMultiples: ((task: MultiplesTask, served: boolean) => MultiplesDrawer) | undefined;
}

export function smallTimelineSize(id: string, size: FigureSize): { id: string; width: number } {
  return { id: `small-${id}-${size}`, width: size === 'wide' ? 880 : 360 };
}
