/** Plan coordinates are metres east and north of `origin`. */
export interface MapRecord {
  readonly origin: { readonly latitudeDeg: number; readonly longitudeDeg: number; readonly height_m: number };
  readonly outline: readonly OutlineRecord[];
  readonly background?: BackgroundRecord;
}

/** What lies under the map beside the outline. */
export interface BackgroundRecord {
  readonly image?: ImageRecord;
  readonly layers: readonly LayerRecord[];
}

/** A georeferenced image. The corner of a pixel lies so many columns and rows from the upper left corner of the image. */
export interface ImageRecord {
  readonly name: string;
  /** File of the image, relative to the snapshot. */
  readonly path: string;
  readonly sha256: string;
  readonly bytes: number;
  readonly width_px: number;
  readonly height_px: number;
  /** East and north of the upper left corner, metres on the plan. */
  readonly corner_m: readonly [number, number];
  /** East and north from a column to the next. */
  readonly column_m: readonly [number, number];
  /** East and north from a row to the next. */
  readonly row_m: readonly [number, number];
  /** What its world file counts in. */
  readonly map: string;
  /** How strongly it is drawn, 1 as it is. */
  readonly strength: number;
}

/** Thin lines over the image. */
export interface LayerRecord {
  readonly name: string;
  readonly lines: readonly LayerLineRecord[];
}

export interface LayerLineRecord {
  readonly label?: string;
  readonly closed: boolean;
  /** East and north in turn, metres. */
  readonly points_m: readonly number[];
}

export type OutlineKind = 'structure' | 'water' | 'contour' | 'road' | 'zone';

/** A line of the site's plan, or the ring of an area; drawn under the stations. */
export interface OutlineRecord {
  readonly kind: OutlineKind;
  readonly name?: string;
  readonly closed: boolean;
  /** True of a ring that is cut out of the area before it. */
  readonly hole?: true;
  /** East and north in turn, metres. */
  readonly points_m: readonly number[];
}
