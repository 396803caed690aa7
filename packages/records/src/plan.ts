import type { Instant } from './snapshot.ts';

/** What is planned before anything moves, and later what came of it. */
export interface PlanRecord {
  readonly start?: PlannedStart;
  /** Figures that are expected from assumed noise, some time after the reference period; absent where none is assumed. */
  readonly figures: readonly PlannedFiguresRecord[];
  readonly noiseSource?: string;
  /** What receivers are specified to do beside what is asked; absent where none has a specification. */
  readonly specification?: SpecificationRecord;
  readonly stations: readonly PlannedStationRecord[];
  /** How the bases stand around the monitored stations. */
  readonly geometry?: {
    readonly bases: number;
    readonly largestGapDeg: number;
    readonly surrounded: boolean;
  };
  /** How far outside the zone of influence bases must stand, metres. */
  readonly clearance_m?: number;
  readonly zones: readonly ZoneRuleRecord[];
  readonly failures: readonly FailureRecord[];
  readonly sky?: SkyPlanRecord;
  readonly power: readonly PowerRecord[];
  readonly communications: readonly CommunicationRecord[];
  readonly storage: readonly StorageRecord[];
  readonly processing?: ProcessingRecord;
  readonly checklist: readonly ChecklistRecord[];
  readonly displacementTests: readonly DisplacementTestRecord[];
}

export interface PlannedStart {
  readonly wanted: string;
  /** End of installation and reference period at the earliest, and the days between. */
  readonly earliest: string;
  readonly roomDays: number;
  readonly referenceDays: number;
  /** When everything that was ordered is there, and what comes last where it delays the installation. */
  readonly ready: string;
  readonly late?: string;
}

export interface PlannedFiguresRecord {
  readonly afterDays: number;
  readonly horizontalPlusMinus_mm: number;
  readonly horizontalDetectable_mm: number;
  readonly upPlusMinus_mm: number;
  readonly upDetectable_mm: number;
}

export interface SpecificationRecord {
  /** Half-widths of the intervals of a position that are asked, millimetres, and what they follow from. */
  readonly asked: { readonly horizontal_mm: number; readonly up_mm: number };
  readonly askedFrom: 'accuracy' | 'movement';
  /** How many times better than asked a receiver is to be. */
  readonly wantedMargin: number;
  /** Of each monitoring station whose receiver has a specification: over the longest baseline that the processing holds. */
  readonly stations: readonly {
    readonly id: string;
    readonly base: string;
    readonly length_m: number;
    /** Half-widths of the intervals of a single solution by the specification. */
    readonly horizontal_mm: number;
    readonly up_mm: number;
    /** What is asked as a multiple of them, the lesser of both. */
    readonly margin: number;
  }[];
}

export interface PlannedStationRecord {
  readonly id: string;
  readonly role: 'base' | 'monitoring';
  /** Distance from the edge of the zone of influence, metres: negative inside. */
  readonly clearance_m?: number;
  readonly baselines: readonly {
    readonly base: string;
    readonly length_m: number;
    readonly heightDifference_m: number;
    readonly budget?: { readonly horizontal_mm: number; readonly up_mm: number };
  }[];
  readonly sky?: StationSkyRecord;
}

/** What an antenna sees over the span; a dilution is absent where there are too few satellites for one, a number of satellites where no orbits are known. */
export interface StationSkyRecord {
  /** Azimuth and elevation in turn, degrees; empty where nothing stands around. */
  readonly horizon: readonly number[];
  readonly within: number;
  readonly fewest: number;
  readonly mean: number;
  readonly medianPdop?: number;
  readonly highPdop?: number;
  readonly worst: { readonly from: Instant; readonly within: number; readonly pdop?: number };
  /** Of every drawn step: the fewest satellites and the highest dilution in it. */
  readonly satellites: readonly (number | null)[];
  readonly pdop: readonly (number | null)[];
}

export interface SkyPlanRecord {
  readonly from: Instant;
  readonly spanMs: number;
  readonly stepMs: number;
  /** Steps that are drawn: several of the others in one, where there are very many. */
  readonly drawnStepMs: number;
  readonly maskDeg: number;
  /** Share of the span of which orbits are known; the rest is not counted. */
  readonly knownShare: number;
  readonly limits: { readonly satellites: number; readonly pdop: number };
  /** Satellites whose orbits are known then, by constellation. */
  readonly constellations: readonly { readonly system: string; readonly satellites: number }[];
  /** Where satellites stand above the horizon, a line each: azimuth and elevation in turn, degrees. */
  readonly tracks: readonly (readonly number[])[];
}

export interface ZoneRuleRecord {
  readonly what: string;
  readonly kind: 'trough' | 'angle of draw';
  readonly reach_m: number;
}

/** What is lost where a base, or something shared, fails. */
export interface FailureRecord {
  readonly of: string;
  readonly kind: 'base' | 'shared';
  readonly streams: readonly string[];
  readonly weakened: readonly string[];
  readonly dark: readonly string[];
  readonly basesLeft: number;
}

export interface PowerRecord {
  readonly of: string;
  readonly load_W: number;
  readonly sunHours: number;
  readonly autonomyDays: number;
  readonly energy_Wh: number;
  readonly array_W: number;
  readonly battery_Ah: number;
  readonly voltage: number;
  readonly installed?: {
    readonly array_W: number;
    readonly battery_Ah: number;
    readonly arrayMargin: number;
    readonly autonomyDays: number;
  };
}

export interface CommunicationRecord {
  readonly of: string;
  readonly stations: number;
  /** In 30 days. */
  readonly needed_MB: number;
  readonly plan_MB: number;
}

/** Room for what is written, and how long it lasts. */
export interface StorageRecord {
  readonly of: string;
  readonly stations: number;
  readonly daily_MB: number;
  readonly free_MB: number;
  readonly days: number;
  /** How long it must last. */
  readonly keepDays: number;
}

/** A processing run beside the time until the next one. */
export interface ProcessingRecord {
  readonly intervalMs: number;
  /** Of all stations of the network. */
  readonly runMs: number;
  readonly stations: number;
  /** With how many stations the time of a run was measured, where not with all. */
  readonly measuredWith?: number;
}

export interface ChecklistRecord {
  readonly what: string;
  readonly done?: string;
  readonly by?: string;
  readonly result?: string;
}

/** A known movement of an antenna, and what the whole chain reports of it, millimetres. */
export interface DisplacementTestRecord {
  readonly station: string;
  readonly at: Instant;
  readonly by?: string;
  readonly set: { readonly east_mm: number; readonly north_mm: number; readonly up_mm: number };
  readonly reported?: {
    readonly east_mm: number;
    readonly north_mm: number;
    readonly up_mm: number;
    readonly horizontalPlusMinus_mm: number;
    readonly upPlusMinus_mm: number;
    /** Whether the set movement lies within the intervals. */
    readonly agrees: boolean;
  };
  /** Why nothing is reported: no positions, no event of the time among the steps, or too few days beside it. */
  readonly lacking?: 'positions' | 'event' | 'days';
}
