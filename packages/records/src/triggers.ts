import type { Instant } from './snapshot.ts';

export type StationQuantity = 'horizontal' | 'east' | 'north' | 'longitudinal' | 'transverse' | 'up';
export type PairQuantity = 'distance' | 'settlement' | 'tilt';
export type TriggerBasis = 'estimate' | 'confident';

/** How means are watched: what a trigger and a candidate of the alarm load have in common. */
export interface TriggerRule {
  /** `estimate`: the figure passes the level; `confident`: the nearer end of its interval does. */
  readonly basis: TriggerBasis;
  readonly side: 'either' | 'positive' | 'negative';
  /** So many of the newest so many means. */
  readonly persistence: { readonly needed: number; readonly of: number };
  /** Share of a level below which it is left. */
  readonly release: number;
}

/** Levels of a quantity, set by the responsible engineer, and the state of everything they watch. */
export interface TriggerRecord extends TriggerRule {
  readonly name: string;
  readonly quantity: StationQuantity | PairQuantity;
  readonly figures: 'raw' | 'less response';
  /** Unit of levels and values. */
  readonly unit: 'mm' | 'mm/30 d' | 'mm/m';
  readonly windowMs: number;
  /** The values are rates over so long. */
  readonly rateOverMs?: number;
  readonly missing: { readonly means: 'passed over' | 'against'; readonly noDataAfterMs: number };
  readonly from?: Instant;
  readonly to?: Instant;
  readonly levels: readonly { readonly name: string; readonly at: number; readonly responsible: string }[];
  readonly watched: readonly WatchedRecord[];
}

/** One station or pair under a trigger. */
export interface WatchedRecord {
  readonly of: string;
  readonly stream: string;
  readonly state: TriggerState;
  /** Since the last change; absent where there was none. */
  readonly since?: Instant;
  /** The newest mean. */
  readonly newest?: EvaluationRecord;
  readonly changes: readonly ChangeRecord[];
  /** Why nothing is watched. */
  readonly reason?: string;
}

/**
 * `measured`: judged from present means. `establishing`: not watched yet (no reference position, or its noise not known). `stale`: the newest
 * mean is older than two processing intervals. `no-data`: older than the trigger allows. `in-doubt`: the base of the stream is in doubt.
 * `ended`: the trigger does not count any more.
 */
export type TriggerCondition = 'measured' | 'establishing' | 'stale' | 'no-data' | 'in-doubt' | 'ended';

export interface TriggerState {
  readonly condition: TriggerCondition;
  /** Number of the highest level that is reached; 0 where none is. Kept while the condition is another than `measured`. */
  readonly level: number;
}

/** A mean as a trigger sees it. */
export interface EvaluationRecord {
  /** End of the mean. */
  readonly at: Instant;
  readonly value: number;
  /** Half-width of its interval; absent where the noise is not known well enough. */
  readonly plusMinus?: number;
}

/** A change of state, with the newest means that made it (as many as persistence asks for, twelve at most). */
export interface ChangeRecord {
  readonly at: Instant;
  readonly from: TriggerState;
  readonly to: TriggerState;
  readonly made: readonly EvaluationRecord[];
  /** Of a change into doubt: what is in doubt. */
  readonly why?: string;
  readonly acknowledged?: readonly AcknowledgementRecord[];
}

export interface AcknowledgementRecord {
  readonly by: string;
  readonly at: Instant;
  readonly comment?: string;
}
