import type { Words } from '@stillmark/words';
import type { MapRecord } from './map.ts';
import type { Problem } from '@stillmark/problems';
import type { ReadingSeries } from './epoch.ts';
import type { SeriesPaths, StationSeries } from './series.ts';
import type { AccelerationRecord, ReadinessRecord, TrajectoryRecord } from './over-time.ts';
import type {
  ClosureRecord,
  CommonModeRecord,
  DecisionRecord,
  OntoStable,
  StabilityRecord,
  SurveyRecord,
} from './stability.ts';
import type { SnapshotComparison } from './comparison.ts';
import type { HealthRecord } from './health.ts';
import type { PlanRecord } from './plan.ts';
import type { AlarmLoadRecord } from './alarm-load.ts';
import type { TriggerRecord } from './triggers.ts';
import type { PairRecord, ProfileRecord } from './pairs.ts';
import type { HeightDependence, ResponseRecord, SiderealRecord, WaveRecord } from './response.ts';

/** ISO 8601 in UTC. */
export type Instant = string;

export interface Span {
  readonly from: Instant;
  readonly to: Instant;
}

/** Everything that a site shows. Written once for an as-of time, never changed. Millimetres in names with `_mm`. */
export interface Snapshot {
  readonly format: 'stillmark-snapshot';
  readonly version: 1;
  readonly producer: { readonly name: string; readonly version: string };
  readonly asOf: Instant;
  /** After this instant the figures are out of date. */
  readonly validUntil: Instant;
  readonly project: ProjectRecord;
  readonly settings: StatementSettings;
  readonly headline: Headline;
  readonly network: NetworkRecord;
  readonly map: MapRecord;
  readonly stations: readonly StationRecord[];
  readonly sensors: readonly SensorRecord[];
  /** Up against height above the base, of each stream that has stations enough. */
  readonly heights: readonly HeightDependence[];
  readonly pairs: readonly PairRecord[];
  readonly profiles: readonly ProfileRecord[];
  readonly triggers: readonly TriggerRecord[];
  readonly alarmLoad: readonly AlarmLoadRecord[];
  readonly health: HealthRecord;
  readonly plan: PlanRecord;
  /** Canonical inputs by content; see the manifest for the outputs. */
  readonly inputs: readonly InputRecord[];
  /** Doubts that stand in the project or the data at the as-of time. */
  readonly doubts: readonly Problem[];
}

export interface ProjectRecord {
  readonly title: string;
  readonly purpose?: string;
  /** IANA name of the zone in which pages show times. */
  readonly timeZone: string;
  readonly frame: { readonly name: string; readonly ellipsoid: string; readonly epoch?: string };
  readonly processingIntervalMs: number;
  /** Smallest movements that must be found, and the largest half-widths that intervals may have. */
  readonly requirement: {
    readonly horizontal_mm: number;
    readonly up_mm: number;
    readonly accuracy?: { readonly horizontal_mm: number; readonly up_mm: number };
  };
  readonly responsible: readonly { readonly role: string; readonly name: string }[];
  readonly events: readonly EventRecord[];
  /** The structure's own axes: transverse points to the right of longitudinal. */
  readonly axes?: { readonly longitudinalAzimuthDeg: number; readonly transverse?: string };
  /** The map on which stations have coordinates too, and the grid of the site on it. */
  readonly grid?: GridRecord;
}

export interface GridRecord {
  readonly projection: string;
  /** Unit of eastings and northings as PROJ names it: m, ft, us-ft. */
  readonly unit: string;
  /** Frame in which the map coordinates are given, and the decimal year of the positions on the way to it. */
  readonly frame: string;
  readonly epoch?: number;
  readonly site?: { readonly name: string; readonly bearingDeg: number; readonly scale: number };
}

/** Where a station stands on the map. */
export interface OnMap {
  /** Of which position: the committed one, the held one of a base, or the approximate one of the project file. */
  readonly of: 'reference' | 'held' | 'approximate';
  /** In the unit of the map. */
  readonly easting: number;
  readonly northing: number;
  /** Above the ellipsoid. */
  readonly height_m: number;
  /** Azimuth of grid north, clockwise from true north. */
  readonly convergenceDeg: number;
  readonly meridianScale: number;
  readonly parallelScale: number;
  readonly site?: { readonly x: number; readonly y: number };
}

/**
 * What an event does to the figures: `structural` counts as displacement, a `note` does nothing; `instrument`, `processing`
 * and `base` are steps of the positions that are no movement, and are tied out.
 */
export type EventKind = 'structural' | 'instrument' | 'processing' | 'base' | 'note';

export interface EventRecord {
  readonly at: Instant;
  readonly what: string;
  readonly kind: EventKind;
  readonly station?: string;
  readonly stream?: string;
}

export interface StatementSettings {
  /** Probability of the intervals and ellipses, e.g. 0.95. */
  readonly confidence: number;
  /** Chance of calling any still station moved, over all statements together. */
  readonly familySignificance: number;
  /** Chance with which the minimal detectable displacement is found. */
  readonly power: number;
  /** Length of the windows from which the noise is learnt. */
  readonly windowMs: number;
  /** Length of the span at the end of the data whose mean is the present position. */
  readonly statementMs: number;
  /** Length of the span at the end of the data over which the rate is told. */
  readonly rateMs: number;
  /** What repeats with the satellites of a constellation is filtered out by so many days before. */
  readonly sidereal?: { readonly days: number; readonly repeatSeconds: number };
}

export interface Headline {
  readonly moved: readonly string[];
  readonly still: readonly string[];
  /** Monitoring stations without a statement: establishing, without data, or not statable. */
  readonly open: readonly string[];
  /** Monitoring stations whose base is in doubt, and that cannot be told from others. */
  readonly doubted: readonly string[];
  /** How many figures (horizontal and up of each station) were tested together. */
  readonly tests: number;
}

export interface NetworkRecord {
  /** Whether the bases keep their places; absent where that cannot be tested, and `untested` says why. */
  readonly stability?: StabilityRecord;
  readonly untested?: string;
  /** What explains the movements of each stream. */
  readonly common: readonly CommonModeRecord[];
  /** Streams of the same station against each other. */
  readonly closures: readonly ClosureRecord[];
  /** Check surveys by other means, in the order of time. */
  readonly surveys: readonly SurveyRecord[];
  /** What an engineer decided of bases, in the order of time. */
  readonly decisions: readonly DecisionRecord[];
  /** Bases whose coordinates are held in some stream: nothing can be said of their own movement from that stream. */
  readonly held: readonly string[];
  /** Pairs of bases of which one is seen from the other, each once, with the stream that shows it. */
  readonly pairs: readonly { readonly held: string; readonly seen: string; readonly stream: string }[];
}

/** A log that is shown under the movements. */
export interface SensorRecord {
  readonly name: string;
  readonly what: string;
  readonly unit: string;
  readonly readings: number;
  readonly first?: Instant;
  readonly last?: Instant;
  /** File with the readings, relative to the snapshot. */
  readonly series?: string;
  /** The same as a script, for pages that are opened from a folder. */
  readonly script?: string;
}

export interface StationRecord extends StreamView {
  readonly id: string;
  readonly role: 'base' | 'monitoring';
  readonly on: string;
  readonly antenna?: string;
  readonly monument?: { readonly type: string; readonly height_m?: number };
  readonly installed?: Instant;
  readonly position: {
    readonly latitudeDeg: number;
    readonly longitudeDeg: number;
    readonly height_m: number;
    readonly east_m: number;
    readonly north_m: number;
    readonly up_m: number;
  };
  readonly onMap?: OnMap;
  /** The precision expected from the receiver's specification, before any data. */
  readonly budget?: PrecisionBudget;
  /** The same antenna as other processings see it; the station's own fields are those of its first stream. */
  readonly others: readonly StreamView[];
}

/** What one stream of positions says of a station. */
export interface StreamView {
  /** Absent where the station is held in this stream. */
  readonly stream?: StreamRecord;
  readonly data?: DataRecord;
  readonly reference?: ReferenceRecord;
  readonly statement: Statement;
  /** Steps that are no movement and are taken off the figures. */
  readonly ties: readonly TieRecord[];
  /** Of the committed reference period, or of all positions where none is committed. */
  readonly readiness?: ReadinessRecord;
  /** How it has moved over all its time; absent where that is too short to say. */
  readonly trajectory?: TrajectoryRecord;
  /** Present where its movement grows faster significantly. */
  readonly acceleration?: AccelerationRecord;
  /** What logs do to it, committed or looked at. */
  readonly response?: ResponseRecord;
  /** Why nothing can be told of that. */
  readonly noResponse?: string;
  /** From the bases that stand still, where its own base does not. */
  readonly ontoStable?: OntoStable;
  /** Changes of the processing across which nothing is tied: figures are in doubt. */
  readonly untied?: readonly { readonly at: Instant; readonly what: string }[];
  /** Waves of the sun and the moon. */
  readonly waves?: readonly WaveRecord[];
  /** Files with the series behind the figures, relative to the snapshot. */
  readonly series?: SeriesPaths;
}

export type StreamRecord = RelativeStream | AbsoluteStream;

/** The frame in which positions were delivered, where they were brought to that of the project; with the epoch of held coordinates. */
export interface DeliveredFrame {
  readonly name: string;
  readonly epoch?: number;
}

/** Vectors from a base whose coordinates are held. */
export interface RelativeStream {
  readonly name: string;
  readonly kind: 'relative';
  readonly base: string;
  readonly solution: 'epoch-wise' | 'filtered';
  readonly delivered?: DeliveredFrame;
  readonly baselineLength_m: number;
  readonly heightDifference_m: number;
}

/** Own coordinates in a dynamic frame, from which the motion of a plate is taken off. */
export interface AbsoluteStream {
  readonly name: string;
  readonly kind: 'absolute';
  readonly solution: 'epoch-wise' | 'filtered';
  readonly delivered?: DeliveredFrame;
  readonly plate: {
    readonly model: string;
    readonly code: string;
    readonly name: string;
    /** Decimal year at which the coordinates stand. */
    readonly epoch: number;
  };
}

/** A step that is no movement, its size as the means beside it tell it, and the half-widths of the intervals. */
export interface TieRecord {
  readonly at: Instant;
  readonly what: string;
  readonly east_mm: number;
  readonly north_mm: number;
  readonly up_mm: number;
  readonly horizontalPlusMinus_mm: number;
  readonly upPlusMinus_mm: number;
}

export interface DataRecord {
  readonly epochs: number;
  readonly first: Instant;
  readonly last: Instant;
  /** Share of the epochs expected from the first one to the as-of time that are there, at the spacing usual in their week. */
  readonly completeness: number;
  readonly spacingMs: number;
  readonly outliers: number;
  /** Epochs for which two different positions stand; neither is used. */
  readonly conflicts: number;
  /** Runs of consecutive outliers on one side: perhaps a step, kept in the figures. */
  readonly unconfirmed: readonly { readonly from: Instant; readonly to: Instant; readonly epochs: number }[];
  /** Present where what repeats with the satellites is filtered out. */
  readonly sidereal?: SiderealRecord;
  /** True where the newest epoch is older than two processing intervals at the as-of time. */
  readonly late: boolean;
}

export interface ReferenceRecord extends Span {
  readonly by: string;
  readonly committed: Instant;
  readonly windows: number;
  readonly epochs: number;
  readonly despite?: string;
}

export interface PrecisionBudget {
  readonly horizontal_mm: number;
  readonly up_mm: number;
  readonly source: string;
}

export type Statement =
  | { readonly kind: 'held' }
  | { readonly kind: 'no-data' }
  | { readonly kind: 'establishing'; readonly observedDays: number; readonly neededDays: number }
  | { readonly kind: 'not-statable'; readonly reason: string }
  | DisplacementStatement;

/** Where the station stands against its reference position, and how sure that is. East, north, up in millimetres. */
export interface DisplacementStatement {
  readonly kind: 'displacement';
  readonly window: Span & { readonly epochs: number; readonly windows: number };
  readonly east_mm: number;
  readonly north_mm: number;
  readonly up_mm: number;
  readonly covariance_mm2: {
    readonly ee: number;
    readonly en: number;
    readonly nn: number;
    readonly uu: number;
  };
  readonly horizontal: HorizontalStatement;
  readonly up: UpStatement;
  readonly structure?: StructureStatement;
  readonly grid?: GridStatement;
  /** Absent where the span of the rate is not filled with means. */
  readonly rate?: RateStatement;
  readonly noise: Record<'east' | 'north' | 'up', NoiseRecord>;
}

/** A movement in the axes of the structure, with the half-widths of its intervals. */
export interface StructureStatement {
  readonly longitudinal_mm: number;
  readonly longitudinalPlusMinus_mm: number;
  readonly transverse_mm: number;
  readonly transversePlusMinus_mm: number;
}

/** A movement along the axes of the project's grid (x is the easting of a map), with the half-widths of its intervals. */
export interface GridStatement {
  readonly x_mm: number;
  readonly xPlusMinus_mm: number;
  readonly y_mm: number;
  readonly yPlusMinus_mm: number;
}

/** How fast it moves: the slope of the window solutions over a span, in millimetres in `perDays` days. */
export interface RateStatement extends Span {
  readonly perDays: number;
  readonly east_mm: number;
  readonly north_mm: number;
  readonly up_mm: number;
  readonly covariance_mm2: DisplacementStatement['covariance_mm2'];
  readonly horizontal: HorizontalStatement;
  /** Absent where the noise in up is known too roughly for a rate. */
  readonly up?: UpStatement;
  readonly structure?: StructureStatement;
  readonly grid?: GridStatement;
}

export interface HorizontalStatement {
  readonly magnitude_mm: number;
  /** Clockwise from north. */
  readonly azimuthDeg: number;
  /** Half-width of the interval of the component along `azimuthDeg`. */
  readonly plusMinus_mm: number;
  readonly degreesOfFreedom: number;
  readonly statistic: number;
  readonly p: number;
  /** Adjusted for all figures tested together (Holm 1979). */
  readonly pAdjusted: number;
  readonly distinguishable: boolean;
  /** Smallest horizontal movement, in the least precise direction, that would have been found. */
  readonly detectable_mm: number;
  readonly ellipse: {
    readonly semiMajor_mm: number;
    readonly semiMinor_mm: number;
    readonly azimuthDeg: number;
  };
}

export interface UpStatement {
  readonly value_mm: number;
  readonly plusMinus_mm: number;
  readonly degreesOfFreedom: number;
  readonly p: number;
  readonly pAdjusted: number;
  readonly distinguishable: boolean;
  readonly detectable_mm: number;
}

/** White and flicker noise of window solutions, estimated by restricted maximum likelihood in the reference period. */
export interface NoiseRecord {
  readonly white_mm: number;
  /** Amplitude of the flicker noise in millimetres per year to the power of one quarter. */
  readonly flicker_mm: number;
  /** What the processing claimed for one window, root mean square. */
  readonly formal_mm: number;
  /** Scatter of the windows of the reference period. */
  readonly scatter_mm: number;
}

export interface InputRecord {
  readonly path: string;
  readonly sha256: string;
  readonly rows?: number;
}

/** What a renderer is given: a snapshot and the series behind it, by the path of their windows' file. */
export interface SiteView {
  readonly snapshot: Snapshot;
  /** The bytes of the image under the map, where there is one. */
  readonly image?: Uint8Array;
  readonly series: ReadonlyMap<string, StationSeries>;
  /** Readings of the sensors, by name. */
  readonly readings: ReadonlyMap<string, ReadingSeries>;
  /** How many times as large the half-axes of an ellipse are as half-widths of east and north alone, at the confidence of the settings. */
  readonly ellipseOverInterval: number;
  /** Against an earlier snapshot, where one was given. */
  readonly comparison?: SnapshotComparison;
  /** The words in which the site is said; English where they are absent. */
  readonly words?: Words;
}
