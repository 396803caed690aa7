import type { Instant, Span } from './snapshot.ts';

/** Whether the data arrives, and what it hangs on, at the as-of time. */
export interface HealthRecord {
  /** Span over which figures of the present are told, and the one before that they are set against. */
  readonly recent: Span;
  readonly before: Span;
  readonly shared: readonly {
    readonly name: string;
    readonly what: string;
    readonly stations: readonly string[];
  }[];
  readonly stations: readonly StationHealth[];
  /** The newest first. */
  readonly outages: readonly OutageRecord[];
  readonly supplies: readonly SupplyRecord[];
  readonly duties: readonly DutyRecord[];
  readonly suspicions: readonly SuspicionRecord[];
  readonly timeFaults: readonly TimeFaultRecord[];
}

/** How the positions of a station arrive, and what its receiver tracks. */
export interface StationHealth {
  readonly station: string;
  readonly streams: readonly ArrivalRecord[];
  readonly tracking: readonly TrackingRecord[];
}

export interface ArrivalRecord {
  readonly stream: string;
  readonly newest: Instant;
  /** Age of the newest position at the as-of time, less the spacing of positions. */
  readonly behindMs: number;
  /** Share of the positions expected in the recent span that are there. */
  readonly completeness: number;
  /** Number and length of the outages that began in the recent span. */
  readonly outages: number;
  readonly outageMs: number;
  /** First day of `days`, and the share of the expected positions of each UTC day up to the as-of time; null where none is expected. */
  readonly firstDay: Instant;
  readonly days: readonly (number | null)[];
}

/** What one source says of the receiver of a station. */
export interface TrackingRecord {
  readonly source: string;
  readonly newest: Instant;
  readonly recent: TrackingFigures;
  /** Absent where there is nothing to set it against. */
  readonly before?: TrackingFigures;
  readonly constellations: readonly ConstellationRecord[];
}

/** Means over the hours of a span; absent where they are not known. */
export interface TrackingFigures {
  readonly hours: number;
  /** Satellites at a time. */
  readonly satellites: number;
  /** Share of the healthy satellites above the mask that were tracked. */
  readonly trackedShare?: number;
  /** Share of epochs that were there, of those between the first and the last of each hour. */
  readonly completeness?: number;
  /** Share of positions of a quality that is taken. */
  readonly fixRate?: number;
  readonly pdop?: number;
  /** Losses of the carrier for a thousand epochs of a satellite. */
  readonly slips?: number;
}

export interface ConstellationRecord {
  readonly system: string;
  /** Satellites that were tracked in the recent span, and those that the network tracked. */
  readonly seen: readonly string[];
  readonly missing: readonly string[];
  readonly trackedShare?: number;
  readonly signals: readonly SignalRecord[];
}

export interface SignalRecord {
  /** As RINEX names it; empty where the receiver does not say. */
  readonly signal: string;
  readonly satellites: number;
  /** Mean carrier to noise density, dB-Hz, and what it was before. */
  readonly cn0?: number;
  readonly cn0Before?: number;
  /** Multipath and noise of the code, metres. */
  readonly multipath_m?: number;
  readonly multipathBefore_m?: number;
}

/** Positions that are missing together. */
export interface OutageRecord {
  readonly from: Instant;
  /** Absent while it lasts. */
  readonly to?: Instant;
  readonly stations: readonly string[];
  readonly cause: OutageCause;
}

/** What explains an outage: it is missing of everything that hangs on this, and of nothing else. */
export interface OutageCause {
  readonly kind: 'everything' | 'shared' | 'base' | 'stream' | 'station' | 'vector';
  /** Name of the shared thing, the base, the stream or the station; of a vector both. */
  readonly name: string;
}

/** Power, data plan or storage of a station or a shared thing. */
export interface SupplyRecord {
  readonly sensor: string;
  readonly of: string;
  readonly kind: 'battery' | 'data' | 'storage';
  readonly unit: string;
  readonly newest?: { readonly at: Instant; readonly value: number };
  /** What must not be passed: the cut-off, the least that must be free, the plan. */
  readonly limit: number;
  /** Of battery and storage: trend of the least value of each day, a day, with the half-width of its 95 % interval. */
  readonly perDay?: number;
  readonly perDayPlusMinus?: number;
  /** Of data: when the plan began, begins anew, and what will be used by then at the rate of the last week. */
  /** Without `used` there is no reading since it began. */
  readonly plan?: {
    readonly from: Instant;
    readonly to: Instant;
    readonly used?: number;
    readonly expected?: number;
  };
  /** True where the limit is passed. */
  readonly passed?: boolean;
  /** When the limit is passed, at the earliest and by the trend; absent where nothing leads there. */
  readonly reached?: { readonly earliest: Instant; readonly by?: Instant };
}

export interface DutyRecord {
  readonly what: string;
  readonly of?: string;
  /** Day on which it is due next; absent where it is done and does not come again. */
  readonly due?: string;
  readonly last?: string;
  readonly every?: string;
  readonly remindDays: number;
  readonly responsible?: string;
  readonly state: 'done' | 'ahead' | 'soon' | 'overdue';
}

/** Something that may be, with what speaks for it. */
export interface SuspicionRecord {
  readonly kind: 'obscured' | 'power' | 'multipath' | 'signal';
  readonly of: string;
  readonly since: Instant;
  readonly evidence: readonly Evidence[];
}

/** One figure that speaks for a suspicion. */
export type Evidence =
  | { readonly kind: 'strength'; readonly drop_dB: number }
  | { readonly kind: 'freezing'; readonly least: number; readonly unit: string; readonly sensor: string }
  | { readonly kind: 'up'; readonly off_mm: number; readonly limit_mm: number }
  | { readonly kind: 'together'; readonly stations: readonly string[] }
  | { readonly kind: 'multipath'; readonly signal: string; readonly before_m: number; readonly now_m: number }
  | { readonly kind: 'satellites'; readonly before: number; readonly now: number }
  | { readonly kind: 'supply'; readonly sensor: string; readonly reached?: Instant }
  | { readonly kind: 'nights'; readonly outages: number; readonly from: string; readonly to: string };

/** Times that look like those of another time scale, or of another count of weeks. */
export interface TimeFaultRecord {
  readonly kind: 'weeks' | 'scale';
  readonly stream: string;
  readonly stations: readonly string[];
  readonly from: Instant;
  readonly to: Instant;
  readonly epochs: number;
  /** By how much they are late; negative where they are early. */
  readonly offsetSeconds: number;
}
