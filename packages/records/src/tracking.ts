/**
 * What receivers track. Satellites are named as in RINEX: the letter of their constellation and two digits (`G05`, `R24`, `E11`,
 * `C30`, `J02`).
 */

/** Letter of a constellation in RINEX. */
export type SystemLetter = 'G' | 'R' | 'E' | 'C' | 'J' | 'I' | 'S';

/** Constellations by letter, as a reader calls them. */
export const systemNames: Readonly<Record<SystemLetter, string>> = {
  G: 'GPS',
  R: 'GLONASS',
  E: 'Galileo',
  C: 'BeiDou',
  J: 'QZSS',
  I: 'NavIC',
  S: 'SBAS',
};

/** One signal of one satellite at one time. */
export interface SignalObservation {
  /** Band and kind of tracking as RINEX 3 writes them (`1C`), or the band alone where the file says no more (RINEX 2). */
  readonly signal: string;
  /** Metres. */
  readonly code?: number;
  /** Cycles. */
  readonly phase?: number;
  /** The receiver says that it lost the carrier since the last epoch. */
  readonly lostLock: boolean;
  /** Carrier to noise density, dB-Hz. */
  readonly cn0?: number;
}

export interface SatelliteObservation {
  readonly satellite: string;
  readonly signals: readonly SignalObservation[];
}

/** All observations of one receiver at one time. */
export interface ObservationEpoch {
  readonly timeMs: number;
  /** The power of the receiver failed since the last epoch. */
  readonly powerFailed: boolean;
  readonly satellites: readonly SatelliteObservation[];
}

/** A satellite that a receiver has in view, in one of its signals. */
export interface SatelliteInView {
  readonly satellite: string;
  /** Band and kind of tracking (`1C`); empty where the receiver does not say. */
  readonly signal: string;
  readonly elevationDeg?: number;
  /** Carrier to noise density, dB-Hz; absent where it is not tracked. */
  readonly cn0?: number;
}

/** What a receiver says of its sky at one time, without observations. */
export interface SkyEpoch {
  readonly timeMs: number;
  /** Quality of its position as GGA numbers it; absent where it told none. */
  readonly quality?: number;
  readonly pdop?: number;
  readonly satellites: readonly SatelliteInView[];
}

/** What the head of a file of observations says. */
export interface ObservationHead {
  readonly marker: string;
  /** Approximate position, metres, geocentric; absent where it is not told. */
  readonly position?: { readonly x: number; readonly y: number; readonly z: number };
  readonly intervalMs?: number;
  /** Number of the frequency of GLONASS satellites. */
  readonly channels: ReadonlyMap<string, number>;
}

/**
 * What was tracked in one hour: of the receiver as a whole (`signal` empty), of a constellation (`G`), or of a signal of it (`G1C`).
 * Numbers that are not known are NaN.
 */
export interface TrackingRow {
  readonly source: string;
  readonly station: string;
  /** How it was read (mask, qualities): rows that were read otherwise than the project asks now are not used. */
  readonly manner: string;
  /** First and last epoch of the hour, milliseconds of UTC. */
  readonly firstMs: number;
  readonly lastMs: number;
  readonly signal: string;
  /** Spacing of epochs, milliseconds. */
  readonly intervalMs: number;
  readonly epochs: number;
  /** Satellites that were tracked, sorted, with blanks between. */
  readonly satellites: string;
  /** Epochs of all satellites that were tracked. */
  readonly tracked: number;
  /** Of those, the ones above the mask. */
  readonly above: number;
  /** Epochs of all healthy satellites above the mask. */
  readonly expected: number;
  /** Losses of the carrier without a gap. */
  readonly slips: number;
  /** Mean carrier to noise density, dB-Hz. */
  readonly cn0: number;
  /** Root mean square of the multipath and noise of the code, metres. */
  readonly multipath: number;
  /** Mean position dilution of precision. */
  readonly pdop: number;
  /** Positions that the receiver told, and those among them of a quality that is taken. */
  readonly positions: number;
  readonly fixed: number;
}
