import type { TimelineAxis } from '@stillmark/charts';
import type { TimeSpan } from '@stillmark/snapshot/series';
import type { TimelineWords } from '../model/timeline.ts';

/** What a page hands its script to draw a part of a timeline anew. Addresses are relative to the page. */
export interface ZoomTask {
  /** The code that draws. */
  readonly drawing: string;
  readonly epochs: string;
  readonly windows: string;
  /** The least and the greatest epochs in bins, from short ones to long ones. */
  readonly levels: readonly { readonly binMs: number; readonly address: string }[];
  /** The series as a script, under the name by which it hands itself over. */
  readonly carried?: CarriedSeries;
  readonly sensors: readonly {
    readonly name: string;
    readonly unit: string;
    readonly address: string;
    readonly carried?: CarriedSeries;
  }[];
  readonly timeZone: string;
  /** Times of the first and of the newest epoch, and how many there are. */
  readonly firstMs: number;
  readonly lastMs: number;
  readonly count: number;
  readonly words: TimelineWords;
}

export interface CarriedSeries {
  readonly script: string;
  readonly name: string;
}

export type FigureSize = 'wide' | 'narrow';

/** What of a timeline is shown. */
export interface Shown {
  readonly span: TimeSpan;
  /** One axis alone; all of them where none is named. */
  readonly axis: TimelineAxis | undefined;
}

/** Draws parts of one timeline. */
export interface SpanDrawer {
  /** A part at the scale that it fills, at each size, once its data are there. */
  draw(shown: Shown): Promise<Record<FigureSize, string>>;
  /** A part at the scale of the last drawing, from what has been fetched; what is lacking is asked for, and `arrived` called when it comes. */
  sketch(shown: Shown, size: FigureSize): string | undefined;
  /** Length of the bins of which the least and the greatest epochs are drawn, where a folder carries no finer ones; milliseconds. */
  coarse(): Promise<number>;
}

declare global {
  /** Set by the second script; `served` where the site can be asked for parts of its files. */
  var stillmarkZoom: ((task: ZoomTask, served: boolean, arrived: () => void) => SpanDrawer) | undefined;
  /** Set by scripts that carry series, as Parquet in base64, by the path of their means or readings. */
  var stillmarkSeries:
    Record<string, { binMs?: number; epochs?: string; windows?: string; readings?: string }> | undefined;
}
