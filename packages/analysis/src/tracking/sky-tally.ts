import type { SkyEpoch, TrackingRow } from '@stillmark/records';
import { HourTally } from './hour-tally.ts';

export interface SkyTask {
  readonly source: string;
  readonly station: string;
  readonly manner: string;
  /** Satellites lower than this are not expected, degrees. */
  readonly maskDeg: number;
  /** Qualities of positions that count as fixed. */
  readonly qualities: readonly number[];
}

/** What a receiver tells of its sky, hour by hour: satellites and their strength, dilution of precision, share of fixed positions. */
export class SkyTally {
  readonly #task: SkyTask;
  readonly #hours: HourTally;

  constructor(task: SkyTask, emit: (row: TrackingRow) => void) {
    this.#task = task;
    this.#hours = new HourTally(task, undefined, emit);
  }

  take({ timeMs, quality, pdop, satellites }: SkyEpoch): void {
    // Satellites may be told more seldom than positions.
    this.#hours.begin(timeMs, satellites.length > 0);
    const receiver = this.#hours.cell('');
    if (quality !== undefined) {
      receiver.positions = count(receiver.positions);
      receiver.fixed = this.#task.qualities.includes(quality) ? count(receiver.fixed) : receiver.fixed || 0;
    }
    if (pdop !== undefined) {
      receiver.pdop += pdop;
      receiver.pdopCount++;
    }
    const seen = new Map<string, { tracked: boolean; above: boolean }>();
    for (const { satellite, signal, elevationDeg, cn0 } of satellites) {
      const above = elevationDeg !== undefined && elevationDeg >= this.#task.maskDeg;
      const known = seen.get(satellite) ?? { tracked: false, above: false };
      seen.set(satellite, { tracked: known.tracked || cn0 !== undefined, above: known.above || above });
      if (cn0 === undefined) continue;
      // Where the receiver does not name the signal, its strength is told of the constellation.
      const cell = this.#hours.cell(satellite[0]! + signal);
      cell.cn0 += cn0;
      cell.cn0Count++;
      if (signal === '') continue;
      cell.satellites.add(satellite);
      cell.tracked++;
      if (above) cell.above++;
    }
    for (const [satellite, { tracked, above }] of seen)
      for (const cell of [receiver, this.#hours.cell(satellite[0]!)]) {
        if (above) cell.expected = count(cell.expected);
        if (!tracked) continue;
        cell.satellites.add(satellite);
        cell.tracked++;
        if (above) cell.above++;
      }
  }

  /** Hands over the last hour. */
  end(): void {
    this.#hours.flush();
  }
}

/** One more; of nothing it is the first. */
function count(n: number): number {
  return Number.isNaN(n) ? 1 : n + 1;
}
