import type { DisplacementStatement, Instant, Span } from './snapshot.ts';

/** Whether the bases keep their places among each other. */
export interface StabilityRecord {
  /** Bases that are tested against each other, and those that cannot be, with the reason. */
  readonly bases: readonly string[];
  readonly left: readonly { readonly id: string; readonly why: string }[];
  /** The mean that is tested, and the reference period that all vectors share. */
  readonly window: Span;
  readonly reference: Span;
  /** Congruency test: F with these degrees of freedom. */
  readonly statistic: number;
  readonly dimension: number;
  readonly degreesOfFreedom: number;
  readonly p: number;
  readonly significance: number;
  /** So many days in a row are asked before a base is said to move. */
  readonly persistence: number;
  readonly finding: StabilityFinding;
  /** Of each base in the datum of those that stand still (of all, where none is singled out). */
  readonly movements: readonly BaseMovement[];
  /** Day by day since the reference period. */
  readonly days: readonly StabilityDay[];
  /** Of each base on those days, in the datum of those that stand still. */
  readonly series: readonly {
    readonly id: string;
    readonly east_mm: readonly number[];
    readonly north_mm: readonly number[];
    readonly up_mm: readonly number[];
  }[];
}

/**
 * `congruent`: no base moved against the others. `moving`: the named bases moved against the rest, which kept its shape. `unclear`: something
 * moved, and the data do not single out what. `watch`: something seems to have moved, for too short a time to say so.
 */
export type StabilityFinding =
  | { readonly kind: 'congruent' }
  | { readonly kind: 'watch'; readonly accused: readonly string[] }
  | { readonly kind: 'unclear'; readonly since: Instant }
  | { readonly kind: 'moving'; readonly moving: readonly MovingBase[] };

export interface MovingBase {
  readonly id: string;
  /** Since when the daily test names it. It began before: where the search for changes finds when, between these. */
  readonly since: Instant;
  readonly earliest?: Instant;
  readonly latest?: Instant;
}

/** A movement with its tests. */
type Tested = Pick<DisplacementStatement, 'east_mm' | 'north_mm' | 'up_mm' | 'horizontal' | 'up'>;

export interface BaseMovement extends Tested {
  readonly id: string;
  readonly stable: boolean;
}

export interface StabilityDay {
  /** Its end. */
  readonly at: Instant;
  readonly p: number;
  /** Bases that the day alone would name. */
  readonly accused: readonly string[];
}

/** What an engineer decided of a base. */
export interface DecisionRecord {
  readonly base: string;
  readonly finding: 'moving' | 'stable';
  readonly since?: Instant;
  readonly by: string;
  readonly at: Instant;
  readonly why: string;
}

/** A displacement told from the bases that stand still, where the base of its stream does not. */
export interface OntoStable extends Tested {
  readonly stable: readonly string[];
}
