import type { Instant } from './snapshot.ts';
import type { EvaluationRecord, TriggerCondition, TriggerRecord } from './triggers.ts';

/** How a trigger stands: what a change of it is told by. */
export interface TriggerStanding {
  readonly condition: TriggerCondition;
  /** Number of the highest level that is reached; 0 where none is. */
  readonly level: number;
  readonly levelName?: string;
  /** Who acts at that level. */
  readonly responsible?: string;
}

/** As the pages name it (`stateWords` of the wording). */
export type StationStanding =
  'moved' | 'still' | 'held' | 'no-data' | 'establishing' | 'not-statable' | 'doubted';

/**
 * What the test among the bases, the pairs and the engineer say of a base: `doubted` counts as moving or may be; `watched` seems to have moved for
 * too short a time; `stable` is tested and keeps its place; `untested` cannot be tested.
 */
export type BaseStanding = 'doubted' | 'watched' | 'stable' | 'untested';

/** States at one as-of time, by what they are of. */
export interface Standings {
  readonly asOf: Instant;
  readonly triggers: readonly {
    readonly trigger: string;
    readonly of: string;
    readonly stream: string;
    /** Of values and levels. */
    readonly unit: TriggerRecord['unit'];
    readonly state: TriggerStanding;
    readonly newest?: EvaluationRecord;
  }[];
  readonly stations: readonly { readonly of: string; readonly state: StationStanding }[];
  readonly bases: readonly { readonly of: string; readonly state: BaseStanding }[];
}

/** A state that differs between two snapshots; null where the one or the other has nothing of the kind. */
export type Transition =
  | {
      readonly kind: 'trigger';
      readonly trigger: string;
      readonly of: string;
      readonly stream: string;
      readonly unit: TriggerRecord['unit'];
      readonly from: TriggerStanding | null;
      readonly to: TriggerStanding | null;
      readonly newest?: EvaluationRecord;
      readonly text: string;
    }
  | {
      readonly kind: 'station';
      readonly of: string;
      readonly from: StationStanding | null;
      readonly to: StationStanding | null;
      readonly text: string;
    }
  | {
      readonly kind: 'base';
      readonly of: string;
      readonly from: BaseStanding | null;
      readonly to: BaseStanding | null;
      readonly text: string;
    };

/** What a command is told after a snapshot that changed some state. */
export interface TransitionsNotice {
  readonly format: 'stillmark-transitions';
  readonly version: 1;
  /** The same for the same transitions: what is told twice can be known. */
  readonly id: string;
  readonly project: string;
  readonly asOf: Instant;
  readonly validUntil: Instant;
  /** As-of time of what was told before; null where there was no snapshot. */
  readonly before: { readonly asOf: Instant } | null;
  readonly headline: string;
  readonly highestLevel: number;
  /** The folder that holds the snapshot. */
  readonly site: string;
  readonly transitions: readonly Transition[];
  readonly caution: string;
}
