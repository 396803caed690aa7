import type { Instant, Span } from './snapshot.ts';
import type { TriggerState } from './triggers.ts';

/** What differs between what two snapshots state: the second is told against the first. */
export interface SnapshotComparison {
  readonly before: ComparedSnapshot;
  readonly after: ComparedSnapshot;
  /** Stations in their streams, in the order of the second snapshot; those that are gone come last. */
  readonly stations: readonly StationComparison[];
  readonly triggers: readonly TriggerComparison[];
  /** Bases whose figures came into doubt, out of it, and those that stay in it. */
  readonly bases: {
    readonly doubted: readonly string[];
    readonly cleared: readonly string[];
    readonly still: readonly string[];
  };
  readonly inputs: readonly InputComparison[];
  readonly configuration: readonly ConfigurationChange[];
  readonly doubts: { readonly raised: readonly string[]; readonly settled: readonly string[] };
}

export interface ComparedSnapshot {
  readonly title: string;
  readonly asOf: Instant;
  readonly producer: { readonly name: string; readonly version: string };
}

/** How something of a list came or went, or what it is has changed. */
export type Change = 'added' | 'removed' | 'changed';

/** What a site says of a station: `doubted` where its base or its processing is in doubt. */
export type ToldState = 'moved' | 'still' | 'held' | 'no-data' | 'establishing' | 'not-statable' | 'doubted';

/** A station in one stream; there is none where nothing of it changed but what rounding hides. */
export interface StationComparison {
  readonly id: string;
  readonly role: 'base' | 'monitoring';
  /** Of a relative stream: the base from which the station is seen. */
  readonly base?: string;
  /** Absent where the station is held, or has no stream. */
  readonly stream?: string;
  /** Whether other streams tell of the station too. */
  readonly several: boolean;
  readonly change: Change;
  readonly state: { readonly before?: ToldState; readonly after?: ToldState };
  /** Why nothing is stated, where that changed. */
  readonly reason?: { readonly before?: string; readonly after?: string };
  /** Sizes of which one at least changed by more than rounding. */
  readonly figures: readonly FigureComparison[];
  /** Reference positions, where they are not the same: sizes of the two are then not of one movement. */
  readonly reference?: { readonly before?: ReferenceCompared; readonly after?: ReferenceCompared };
}

export interface ReferenceCompared extends Span {
  readonly committed: Instant;
}

export interface FigureComparison {
  /** `onto`: told from the bases that stand still, where its own base does not. */
  readonly figure: 'horizontal' | 'up' | 'horizontal rate' | 'up rate' | 'horizontal onto' | 'up onto';
  readonly before?: ComparedSize;
  readonly after?: ComparedSize;
}

export interface ComparedSize {
  readonly value_mm: number;
  readonly plusMinus_mm: number;
  /** Of horizontal sizes, clockwise from north. */
  readonly azimuthDeg?: number;
  /** Of rates: the time in which it moves so far. */
  readonly perDays?: number;
  readonly distinguishable: boolean;
  /** Smallest that would have been found. */
  readonly detectable_mm: number;
}

/** Something under a trigger whose level or condition is another, or that reached a higher level in between. */
export interface TriggerComparison {
  readonly trigger: string;
  readonly of: string;
  readonly change: Change;
  readonly before?: ComparedLevel;
  readonly after?: ComparedLevel;
  /** The highest level between the two, by the log of the second, where it is higher than both. */
  readonly between?: ComparedLevel;
}

export interface ComparedLevel extends TriggerState {
  /** Of the level that is reached; absent where none is. */
  readonly name?: string;
  readonly at?: number;
  readonly unit: string;
}

export interface InputComparison {
  readonly path: string;
  readonly change: Change;
  /** Of tables of the store. */
  readonly rows: { readonly before?: number; readonly after?: number };
}

/** A setting that is another; one side is absent where there is none. */
export interface ConfigurationChange {
  readonly what: string;
  readonly unit?: string;
  readonly before?: string | number;
  readonly after?: string | number;
}
