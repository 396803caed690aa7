/** Columns of a series by axis, millimetres. Longitudinal and transverse are there where the structure has axes. */
export interface AxisColumns {
  readonly east_mm: Float64Array;
  readonly north_mm: Float64Array;
  readonly up_mm: Float64Array;
  readonly longitudinal_mm?: Float64Array;
  readonly transverse_mm?: Float64Array;
}

/** Half-widths of the intervals, millimetres; NaN where none can be stated. */
export interface HalfColumns {
  readonly eastHalf_mm: Float64Array;
  readonly northHalf_mm: Float64Array;
  readonly upHalf_mm: Float64Array;
  readonly longitudinalHalf_mm?: Float64Array;
  readonly transverseHalf_mm?: Float64Array;
}

/** Windows less the committed response, millimetres; NaN where a log is missing. */
export interface LessColumns {
  readonly eastLess_mm: Float64Array;
  readonly northLess_mm: Float64Array;
  readonly upLess_mm: Float64Array;
  readonly longitudinalLess_mm?: Float64Array;
  readonly transverseLess_mm?: Float64Array;
}

/** Windows told from the bases that stand still, where the base of the stream does not, millimetres; NaN where those are missing. */
export interface OntoColumns {
  readonly eastOnto_mm: Float64Array;
  readonly northOnto_mm: Float64Array;
  readonly upOnto_mm: Float64Array;
  readonly longitudinalOnto_mm?: Float64Array;
  readonly transverseOnto_mm?: Float64Array;
}

/** Where the series of a station in one stream stand, relative to the snapshot. */
export interface SeriesPaths {
  readonly epochs: string;
  readonly windows: string;
  /** Of long series the least and the greatest epochs in bins, from short ones to long ones. */
  readonly levels?: readonly { readonly binMs: number; readonly path: string }[];
  /** Means, and epochs or a level of them, as a script for pages that are opened from a folder. */
  readonly script?: string;
}

/**
 * The series behind the figures of a station in one stream, in columns; displacement from the reference position, or from the
 * mean; steps that are no movement are taken off.
 */
export interface StationSeries {
  readonly epochs: AxisColumns & {
    readonly timesMs: Float64Array;
    /** 0 used, 1 outlier, 2 conflict, 3 the same position again. */
    readonly flag: Uint8Array;
  };
  readonly windows: AxisColumns &
    HalfColumns &
    Partial<LessColumns> &
    Partial<OntoColumns> & {
      /** Middle of each window. */
      readonly timesMs: Float64Array;
    };
}
