import type { Words } from '@stillmark/words';
import type { BackgroundRecord, OutlineRecord } from './map.ts';
import type { Instant } from './snapshot.ts';

/** What a person approved for those outside: frozen words and figures, without what the project file hides. */
export interface ReleasedRecord {
  readonly format: 'stillmark-release';
  readonly version: 1;
  readonly project: { readonly title: string; readonly purpose?: string; readonly timeZone: string };
  /** Of the snapshot that was approved. */
  readonly asOf: Instant;
  readonly snapshot: string;
  readonly approved: ApprovalRecord;
  /** Probability of intervals and ellipses. */
  readonly confidence: number;
  readonly headline: string;
  /** On levels; absent where levels are not released. */
  readonly levels?: readonly string[];
  readonly stations: readonly ReleasedStation[];
  /** Present where coordinates are released. */
  readonly outline?: readonly OutlineRecord[];
  /** Present where it is released; the image is frozen beside the record. */
  readonly background?: BackgroundRecord;
  readonly index: boolean;
}

export interface ApprovalRecord {
  readonly by: string;
  readonly at: Instant;
  readonly comment?: string;
}

export interface ReleasedStation {
  readonly id: string;
  readonly role: 'base' | 'monitoring';
  readonly on: string;
  readonly state: 'moved' | 'still' | 'held' | 'no-data' | 'establishing' | 'not-statable' | 'doubted';
  readonly sentence: string;
  /** Metres east and north of the origin of the map; absent where coordinates are not released. */
  readonly place?: { readonly east_m: number; readonly north_m: number };
  readonly movement?: {
    readonly east_mm: number;
    readonly north_mm: number;
    readonly up_mm: number;
    readonly upHalf_mm: number;
    readonly ellipse: {
      readonly semiMajor_mm: number;
      readonly semiMinor_mm: number;
      readonly azimuthDeg: number;
    };
    readonly distinguishable: boolean;
    readonly upDistinguishable: boolean;
  };
}

/** What the newest snapshot knows, beside which a release stands. */
export interface PresentState {
  readonly title: string;
  readonly timeZone: string;
  readonly asOf: Instant;
  readonly validUntil: Instant;
}

/** What a renderer is given of the released site; without a record nothing is released yet. */
export interface ReleasedView {
  readonly record?: ReleasedRecord;
  readonly present: PresentState;
  /** The words in which the page is said; English where they are absent. */
  readonly words?: Words;
}
