import type { TrackingRow } from '@stillmark/records';

const hourMs = 3_600_000;

/** Sums of one hour for the receiver, a constellation or a signal. */
export interface Cell {
  readonly satellites: Set<string>;
  tracked: number;
  above: number;
  expected: number;
  slips: number;
  cn0: number;
  cn0Count: number;
  /** Sum of squares of the multipath about the means of its arcs, and their degrees of freedom. */
  multipath: number;
  multipathFreedom: number;
  pdop: number;
  pdopCount: number;
  positions: number;
  fixed: number;
}

/** Gathers what a receiver tracked, hour by hour, and hands over each hour when the next begins. */
export class HourTally {
  readonly #of: Pick<TrackingRow, 'source' | 'station' | 'manner'>;
  readonly #emit: (row: TrackingRow) => void;
  readonly #cells = new Map<string, Cell>();
  #firstMs = Number.NaN;
  #lastMs = Number.NaN;
  #epochs = 0;
  #open = false;
  readonly #spacings = new Map<number, number>();
  /** Spacing that was usual before, for an hour of one epoch. */
  #intervalMs: number;

  constructor(
    { source, station, manner }: Pick<TrackingRow, 'source' | 'station' | 'manner'>,
    intervalMs: number | undefined,
    emit: (row: TrackingRow) => void,
  ) {
    this.#of = { source, station, manner };
    this.#intervalMs = intervalMs ?? Number.NaN;
    this.#emit = emit;
  }

  /** Begins an epoch; the hour before it is handed over where it has ended. One that tells nothing of satellites does not count. */
  begin(timeMs: number, counts = true): void {
    if (this.#open && Math.floor(timeMs / hourMs) !== Math.floor(this.#lastMs / hourMs)) this.flush();
    if (!this.#open) this.#firstMs = timeMs;
    this.#open = true;
    if (!counts) {
      // Its time is that of the hour where no other is.
      if (this.#epochs === 0) this.#lastMs = timeMs;
      return;
    }
    if (this.#epochs === 0) this.#firstMs = timeMs;
    else {
      const spacing = timeMs - this.#lastMs;
      this.#spacings.set(spacing, (this.#spacings.get(spacing) ?? 0) + 1);
    }
    this.#lastMs = timeMs;
    this.#epochs++;
  }

  cell(signal: string): Cell {
    let cell = this.#cells.get(signal);
    if (!cell) {
      cell = {
        satellites: new Set(),
        tracked: 0,
        above: 0,
        expected: Number.NaN,
        slips: 0,
        cn0: 0,
        cn0Count: 0,
        multipath: 0,
        multipathFreedom: 0,
        pdop: 0,
        pdopCount: 0,
        positions: Number.NaN,
        fixed: Number.NaN,
      };
      this.#cells.set(signal, cell);
    }
    return cell;
  }

  /** Hands over the hour that stands open. */
  flush(): void {
    if (!this.#open) return;
    const [usual] = [...this.#spacings].sort(([a, x], [b, y]) => y - x || a - b);
    if (usual) this.#intervalMs = usual[0];
    const mean = (sum: number, count: number): number => (count > 0 ? sum / count : Number.NaN);
    for (const [signal, c] of [...this.#cells].sort(([a], [b]) => (a < b ? -1 : 1)))
      this.#emit({
        ...this.#of,
        firstMs: this.#firstMs,
        lastMs: this.#lastMs,
        signal,
        intervalMs: this.#intervalMs,
        epochs: this.#epochs,
        satellites: [...c.satellites].sort().join(' '),
        tracked: c.tracked,
        above: Number.isNaN(c.expected) ? Number.NaN : c.above,
        expected: c.expected,
        slips: c.slips,
        cn0: mean(c.cn0, c.cn0Count),
        multipath: Math.sqrt(mean(c.multipath, c.multipathFreedom)),
        pdop: mean(c.pdop, c.pdopCount),
        positions: c.positions,
        fixed: c.fixed,
      });
    this.#cells.clear();
    this.#spacings.clear();
    this.#epochs = 0;
    this.#open = false;
  }
}
