import type { Instant } from './snapshot.ts';

/** A snapshot as it was published, with what a history tells of it. */
export interface PublishedVersion {
  /** Its folder below `versions`: as-of time to the second, and the begin of the hash of its manifest. */
  readonly name: string;
  /** Title of the project. */
  readonly project: string;
  readonly timeZone: string;
  readonly asOf: Instant;
  readonly validUntil: Instant;
  /** The sentences of its headline, as they stood on the site. */
  readonly headline: string;
  /** Absent where the project sets no levels. */
  readonly level?: HighestLevel;
  /** SHA-256 of its manifest, which names every file with its own. */
  readonly manifest: string;
  /** Why it was published though what stood there was later, or of another project. */
  readonly despite?: string;
}

/** The highest level that any trigger has reached, 0 where none is, and what triggers call it. */
export interface HighestLevel {
  readonly number: number;
  readonly names: readonly string[];
}

/** Everything that is published in one place. */
export interface PublishedVersions {
  /** Name of the one that `latest` leads to. */
  readonly latest: string;
  /** Newest as-of time first; of one time the one that was published last. */
  readonly versions: readonly PublishedVersion[];
}
