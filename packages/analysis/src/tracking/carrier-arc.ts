import type { SignalObservation } from '@stillmark/records';
import { lightSpeed, wavelength } from './frequencies.ts';

/** Epochs further apart than this, milliseconds, do not show slips by their phases: the ionosphere changes too much in between. */
const closeEnoughMs = 61_000;
/** Metres: a change of the geometry-free phase beyond what it changed by before is no ionosphere. A cycle on both of GPS's bands is 54 mm. */
const leastJump = 0.04;
/** Bands whose wavelengths are nearer to each other than by this factor tell neither slips nor multipath. */
const leastApart = 1.1;
/** Epochs from which the scatter of the wide lane is known well enough. */
const settled = 10;
/** Cycles of the wide lane that a slip changes at least. */
const leastWideLane = 0.75;

/** A pair of phases on two bands, with the code of one of them or both. */
interface Pair {
  readonly first: SignalObservation;
  readonly second: SignalObservation;
  readonly wavelengths: readonly [number, number];
}

/** Sum of squares about a running mean (Welford 1962, Technometrics 4, 419-420). */
interface Scatter {
  n: number;
  mean: number;
  squares: number;
}

/**
 * The carrier phase of one satellite as long as it is held: slips, and the multipath of each code against the phases of its arc.
 *
 * Slips: the receiver's own mark; a jump of the geometry-free combination of two phases against its last change; a lasting change of the
 * wide lane by more than four times its scatter (Blewitt 1990, J. Geophys. Res. 95(B3), 10187-10202). Cycles on both bands that the
 * first does not see the second does, and the other way round; without a second band there is only the mark.
 */
export class CarrierArc {
  readonly #system: string;
  readonly #channel: number | undefined;
  #lastMs = Number.NaN;
  /** Which signals the combinations are of: with others they have other constants. */
  #pairKey = '';
  #free = Number.NaN;
  /** Change of the geometry-free phase a millisecond. */
  #freeRate = Number.NaN;
  #wide: Scatter = { n: 0, mean: 0, squares: 0 };
  #doubted: number | undefined;
  /** Multipath of the open arc by signal, and what closed arcs left. */
  readonly #codes = new Map<string, Scatter>();
  readonly #closed = new Map<string, { squares: number; freedom: number }>();

  constructor(system: string, channel: number | undefined) {
    this.#system = system;
    this.#channel = channel;
  }

  /**
   * Takes an epoch of the satellite.
   *
   * @param intervalMs spacing of epochs: a longer gap ends the arc, and is no slip
   * @returns whether the carrier slipped since the last epoch
   */
  take(timeMs: number, signals: readonly SignalObservation[], intervalMs: number): boolean {
    const gap = timeMs - this.#lastMs;
    const goesOn = gap <= 1.5 * intervalMs;
    this.#lastMs = timeMs;
    const pair = this.#pairOf(signals);
    const key = pair ? `${pair.first.signal} ${pair.second.signal}` : '';
    if (!goesOn || key !== this.#pairKey) this.#begin();
    this.#pairKey = key;
    const marked = goesOn && signals.some((s) => s.lostLock && s.phase !== undefined);
    if (marked) this.#begin();
    if (!pair) return marked;
    const slipped = this.#combinations(pair, gap);
    if (this.#doubted === undefined) this.#multipath(signals, pair);
    return marked || slipped;
  }

  /** Sums of squares of the multipath by signal, square metres, with their degrees of freedom; begins them anew. */
  drain(): Map<string, { squares: number; freedom: number }> {
    this.#closeCodes();
    const out = new Map(this.#closed);
    this.#closed.clear();
    return out;
  }

  /** The two phases whose bands are furthest apart: of near ones the combinations are nothing but noise. */
  #pairOf(signals: readonly SignalObservation[]): Pair | undefined {
    let best: Pair | undefined;
    let apart = leastApart;
    const phases = signals.flatMap((signal) => {
      const wave =
        signal.phase === undefined ? undefined : wavelength(this.#system, signal.signal, this.#channel);
      return wave === undefined ? [] : [{ signal, wave }];
    });
    for (const [i, first] of phases.entries())
      for (const second of phases.slice(i + 1)) {
        const ratio = Math.max(first.wave / second.wave, second.wave / first.wave);
        if (ratio <= apart) continue;
        apart = ratio;
        best = { first: first.signal, second: second.signal, wavelengths: [first.wave, second.wave] };
      }
    return best;
  }

  #begin(): void {
    this.#free = Number.NaN;
    this.#freeRate = Number.NaN;
    this.#wide = { n: 0, mean: 0, squares: 0 };
    this.#doubted = undefined;
    this.#closeCodes();
  }

  #closeCodes(): void {
    for (const [signal, { n, squares }] of this.#codes) {
      if (n < 2) continue;
      const closed = this.#closed.get(signal) ?? { squares: 0, freedom: 0 };
      this.#closed.set(signal, { squares: closed.squares + squares, freedom: closed.freedom + n - 1 });
    }
    this.#codes.clear();
  }

  /** Looks for a slip in the geometry-free phase and the wide lane; an arc that slipped begins anew. */
  #combinations({ first, second, wavelengths: [w1, w2] }: Pair, gap: number): boolean {
    const free = w1 * first.phase! - w2 * second.phase!;
    const rate = (free - this.#free) / gap;
    const jumped = gap <= closeEnoughMs && Math.abs(rate - this.#freeRate) * gap > leastJump;
    if (jumped) this.#begin();
    else this.#freeRate = gap <= closeEnoughMs ? rate : Number.NaN;
    this.#free = free;
    if (first.code === undefined || second.code === undefined) return jumped;
    const [f1, f2] = [lightSpeed / w1, lightSpeed / w2];
    const code = (f1 * first.code + f2 * second.code) / (f1 + f2);
    const lane = first.phase! - second.phase! - (code * (f1 - f2)) / lightSpeed;
    const { n, mean, squares } = this.#wide;
    const limit = Math.max(4 * Math.sqrt(squares / (n - 1)), leastWideLane);
    if (n < settled || Math.abs(lane - mean) <= limit) {
      this.#doubted = undefined;
      add(this.#wide, lane);
      return jumped;
    }
    // One epoch that is off is an outlier; two that agree with each other are a slip.
    if (this.#doubted === undefined || Math.abs(lane - this.#doubted) > limit) {
      this.#doubted = lane;
      return jumped;
    }
    this.#begin();
    this.#free = free;
    add(this.#wide, lane);
    return true;
  }

  /**
   * Multipath of the codes: what is left of code less the sum of two phases that has the same geometry and the same ionosphere
   * (Hofmann-Wellenhof, Lichtenegger and Wasle 2008, GNSS, section 5.6). The phases' unknown cycles leave a constant for each arc, the
   * multipath of the phases themselves is a hundredth.
   */
  #multipath(signals: readonly SignalObservation[], { first, second, wavelengths: [w1, w2] }: Pair): void {
    for (const { signal, code } of signals) {
      const wave = code === undefined ? undefined : wavelength(this.#system, signal, this.#channel);
      if (wave === undefined) continue;
      const share = (wave * wave + w2 * w2) / (w2 * w2 - w1 * w1);
      const left = code! - share * w1 * first.phase! - (1 - share) * w2 * second.phase!;
      let scatter = this.#codes.get(signal);
      if (!scatter) this.#codes.set(signal, (scatter = { n: 0, mean: 0, squares: 0 }));
      add(scatter, left);
    }
  }
}

function add(scatter: Scatter, value: number): void {
  scatter.n++;
  const before = value - scatter.mean;
  scatter.mean += before / scatter.n;
  scatter.squares += before * (value - scatter.mean);
}
