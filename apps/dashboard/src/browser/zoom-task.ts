import type { TimeSpan } from '@stillmark/snapshot/series';
import type { TimelineWords } from '../model/timeline.ts';

/** What a page hands its script to draw a part of a timeline anew. */
export interface ZoomTask {
  /** Addresses, relative to the page. */
  readonly script: string;
  readonly epochs: string;
  readonly windows: string;
  readonly sensors: readonly { readonly name: string; readonly unit: string; readonly address: string }[];
  readonly timeZone: string;
  /** Times of the first and of the newest epoch. */
  readonly firstMs: number;
  readonly lastMs: number;
  readonly words: TimelineWords;
}

declare global {
  /** Set by the second script: the drawings of a span, wide and narrow. */
  var stillmarkZoom: ((task: ZoomTask, span: TimeSpan) => Promise<string[]>) | undefined;
}
