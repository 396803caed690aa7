import type { StationQuantity, TriggerBasis, TriggerRule } from './triggers.ts';

/** What alarms cost and find, by simulation, before anybody sets them. */
export interface AlarmLoadRecord {
  readonly quantity: StationQuantity;
  readonly side: TriggerRule['side'];
  /** Stations whose noise was simulated; measured where it was learnt from positions, else assumed by the project file. */
  readonly measured: readonly string[];
  readonly assumed: readonly string[];
  /** Stations without any noise to go by, which are not in it. */
  readonly left: readonly string[];
  /** Share of the variance that stations of one base have in common. */
  readonly shared: number;
  readonly referenceDays: number;
  /** Months of 30 days of the whole network that were simulated. */
  readonly months: number;
  readonly requirement: {
    /** In 30 days, of the whole network. */
    readonly falseAlarms: number;
    readonly step?: { readonly size_mm: number; readonly withinMs: number };
    readonly ramp?: { readonly mm_day: number; readonly withinMs: number };
  };
  readonly candidates: readonly CandidateRecord[];
  /** Index of the candidate that is recommended; where none meets what is required, of the one that misses it least. */
  readonly recommended?: number;
  readonly nearest?: number;
}

export interface AlarmSetting {
  readonly windowMs: number;
  readonly level_mm: number;
  readonly persistence: { readonly needed: number; readonly of: number };
  readonly basis: TriggerBasis;
  /** Share of the level below which it is left. */
  readonly release: number;
}

export interface CandidateRecord extends AlarmSetting {
  /** Name of the trigger whose level this is, where it is one of the project. */
  readonly trigger?: string;
  /** False alarms in 30 days: of the whole network, and of the median and the worst station. */
  readonly network: number;
  readonly median: number;
  readonly worst: number;
  /** Share of months in which no level was reached at any time in the whole network. */
  readonly quiet: number;
  /** Messages a day while nothing moves: levels reached and left. */
  readonly messages: number;
  readonly step?: DelayRecord;
  readonly ramp?: DelayRecord;
  readonly meets: boolean;
}

/** Until the end of the mean that reports it, of the slowest station: in half and in nine of ten cases; absent where that is not found in the time that was simulated. */
export interface DelayRecord {
  readonly halfMs?: number;
  readonly nineMs?: number;
}
