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

export type CommonModeKind = 'nothing' | 'base' | 'structure';

/** What explains the movements that one stream shows, the most probable first. */
export interface CommonModeRecord {
  readonly stream: string;
  /** The base that is held, and the other bases that are seen from it: without them base and structure cannot be told apart. */
  readonly base: string;
  readonly others: readonly string[];
  readonly stations: readonly string[];
  readonly hypotheses: readonly CommonModeHypothesis[];
}

export interface CommonModeHypothesis {
  readonly kind: CommonModeKind;
  /** Stations that moved alone beside it. */
  readonly alone: readonly string[];
  /** Probability among the three. */
  readonly weight: number;
  /** What all share, with its standard deviations; of a base the movement that stations seem to make, the other way round. */
  readonly common?: Readonly<
    Record<'east_mm' | 'north_mm' | 'up_mm' | 'eastSigma_mm' | 'northSigma_mm' | 'upSigma_mm', number>
  >;
}

/** Whether two streams of a station agree, but for what their bases do against each other. */
export interface ClosureRecord extends Tested {
  readonly id: string;
  readonly streams: readonly [string, string];
}

/** A check survey by other means, with what it says against the figures. */
export interface SurveyRecord {
  readonly at: Instant;
  readonly station: string;
  readonly method: string;
  readonly by: string;
  readonly result: string;
  readonly components: readonly SurveyComponent[];
}

export interface SurveyComponent {
  readonly axis: 'east' | 'north' | 'up';
  readonly value_mm: number;
  readonly plusMinus_mm: number;
  /** What positions say of the same movement at that time; absent where nothing can be stated. */
  readonly ours_mm?: number;
  readonly oursPlusMinus_mm?: number;
  readonly agrees?: boolean;
}
