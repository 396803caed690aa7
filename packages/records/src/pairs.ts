import type { Span, UpStatement } from './snapshot.ts';

/** Two stations in one stream, the second against the first: what a base does to both is in neither figure. */
export interface PairRecord {
  readonly name: string;
  readonly from: string;
  readonly to: string;
  readonly stream: string;
  /** Between the reference positions, in space and in plan, and the azimuth from the first to the second. */
  readonly distance_m: number;
  readonly horizontal_m: number;
  readonly azimuthDeg: number;
  /** The time that lies in the reference periods of both. */
  readonly reference?: Span;
  /** Absent where it cannot be stated; `reason` says why. */
  readonly statement?: PairStatement;
  readonly reason?: string;
}

export interface PairStatement {
  readonly window: Span & { readonly windows: number };
  /** Movement of the second less that of the first. */
  readonly east_mm: number;
  readonly north_mm: number;
  readonly up_mm: number;
  /** Change of the distance in space, positive where it grows. */
  readonly distance: UpStatement;
  /** Up of the second less up of the first. */
  readonly settlement: UpStatement;
  /** Settlement over the distance in plan; absent where they stand above each other. */
  readonly tilt_mm_m?: number;
  readonly tiltPlusMinus_mm_m?: number;
}

/** Stations in a line: how much each part of it tilts more than the whole. */
export interface ProfileRecord {
  readonly name: string;
  readonly stations: readonly string[];
  readonly stream: string;
  readonly segments: readonly ProfileSegment[];
}

export interface ProfileSegment {
  readonly from: string;
  readonly to: string;
  /** In plan. */
  readonly length_m: number;
  /** Angular distortion times the length, with its test; absent where it cannot be stated. */
  readonly distortion?: UpStatement;
  readonly distortion_mm_m?: number;
  readonly distortionPlusMinus_mm_m?: number;
  readonly detectable_mm_m?: number;
  readonly reason?: string;
}
