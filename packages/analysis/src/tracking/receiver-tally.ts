import {
  dilutionOf,
  lookAngles,
  radians,
  type LookAngles,
  type SkyPositions,
  type TopocentricFrame,
} from '@stillmark/geodesy';
import { gpsMinusUtcSeconds, type ObservationEpoch, type TrackingRow } from '@stillmark/records';
import { CarrierArc } from './carrier-arc.ts';
import { HourTally, type Cell } from './hour-tally.ts';

export interface ReceiverTask {
  readonly source: string;
  readonly station: string;
  readonly manner: string;
  readonly frame: TopocentricFrame;
  /** Satellites lower than this are not expected, degrees. */
  readonly maskDeg: number;
  /** Absent where no orbits are known: then nobody knows what was above the mask. */
  readonly sky?: SkyPositions;
  readonly channels: ReadonlyMap<string, number>;
  /** Spacing of epochs as the file declares it. */
  readonly intervalMs?: number;
}

/**
 * Quality of the observations of one receiver, hour by hour: satellites and signals that were tracked against those above the mask, slips,
 * signal strength, multipath, dilution of precision. Needs the memory of an hour, however long the file.
 */
export class ReceiverTally {
  readonly #task: ReceiverTask;
  readonly #hours: HourTally;
  readonly #arcs = new Map<string, CarrierArc>();
  #lastMs = Number.NaN;
  /** Least spacing of epochs that was seen. */
  #seenMs = Number.POSITIVE_INFINITY;
  /** Whether a satellite was tracked whose orbit was not known: other orbits would tell more. */
  lacksOrbits = false;

  constructor(task: ReceiverTask, emit: (row: TrackingRow) => void) {
    this.#task = task;
    this.#hours = new HourTally(task, task.intervalMs, emit);
  }

  take({ timeMs, powerFailed, satellites }: ObservationEpoch): void {
    if (Math.floor(timeMs / 3_600_000) !== Math.floor(this.#lastMs / 3_600_000)) this.#drainArcs();
    this.#hours.begin(timeMs);
    // What a head declares may be shorter than what was written: the least that has been seen counts then.
    if (timeMs > this.#lastMs) this.#seenMs = Math.min(this.#seenMs, timeMs - this.#lastMs);
    const declared = this.#task.intervalMs ?? 0;
    const intervalMs =
      this.#seenMs === Number.POSITIVE_INFINITY ? declared : Math.max(declared, this.#seenMs);
    this.#lastMs = timeMs;
    if (powerFailed) {
      this.#drainArcs();
      this.#arcs.clear();
    }
    const angles = this.#sky(timeMs);
    const above = (satellite: string): boolean => angles?.has(satellite) ?? false;
    const receiver = this.#hours.cell('');
    const used = new Map<string, LookAngles[]>();
    for (const { satellite, signals } of satellites) {
      if (signals.length === 0) continue;
      const system = satellite[0]!;
      let arc = this.#arcs.get(satellite);
      if (!arc) this.#arcs.set(satellite, (arc = new CarrierArc(system, this.#task.channels.get(satellite))));
      const slipped = arc.take(timeMs, signals, intervalMs);
      if (this.#task.sky && orbited.has(system) && !this.#task.sky.knows(satellite, gpsOf(timeMs)))
        this.lacksOrbits = true;
      const isAbove = above(satellite);
      if (isAbove) {
        const own = used.get(system);
        if (own) own.push(angles!.get(satellite)!);
        else used.set(system, [angles!.get(satellite)!]);
      }
      const constellation = this.#hours.cell(system);
      for (const cell of [receiver, constellation]) count(cell, satellite, isAbove, slipped);
      for (const { signal, cn0, lostLock } of signals) {
        const own = this.#hours.cell(system + signal);
        count(own, satellite, isAbove, lostLock);
        if (cn0 === undefined) continue;
        own.cn0 += cn0;
        own.cn0Count++;
      }
    }
    if (!angles) return;
    for (const satellite of angles.keys())
      for (const cell of [receiver, this.#hours.cell(satellite[0]!)])
        cell.expected = (Number.isNaN(cell.expected) ? 0 : cell.expected) + 1;
    const dilution = dilutionOf(...used.values());
    if (!dilution) return;
    receiver.pdop += dilution.pdop;
    receiver.pdopCount++;
  }

  /** Hands over the last hour. */
  end(): void {
    this.#drainArcs();
    this.#hours.flush();
  }

  #drainArcs(): void {
    for (const [satellite, arc] of this.#arcs)
      for (const [signal, { squares, freedom }] of arc.drain()) {
        const cell = this.#hours.cell(satellite[0]! + signal);
        cell.multipath += squares;
        cell.multipathFreedom += freedom;
      }
  }

  /** Healthy satellites above the mask, by name; undefined where nothing is known of any. */
  #sky(timeMs: number): Map<string, LookAngles> | undefined {
    const { sky, frame, maskDeg } = this.#task;
    if (!sky) return undefined;
    const gpsMs = gpsOf(timeMs);
    const found = new Map<string, LookAngles>();
    let known = false;
    for (const satellite of sky.satellites) {
      const position = sky.at(satellite, gpsMs);
      if (!position) continue;
      known = true;
      const angles = lookAngles(frame, position);
      if (angles.elevation >= radians(maskDeg)) found.set(satellite, angles);
    }
    return known ? found : undefined;
  }
}

/** Constellations whose orbits navigation files tell. */
const orbited = new Set(['G', 'R', 'E', 'C', 'J']);

const gpsOf = (utcMs: number): number => utcMs + 1000 * gpsMinusUtcSeconds(utcMs);

function count(cell: Cell, satellite: string, isAbove: boolean, slipped: boolean): void {
  cell.satellites.add(satellite);
  cell.tracked++;
  if (isAbove) cell.above++;
  if (slipped) cell.slips++;
}
