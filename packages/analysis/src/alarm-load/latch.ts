/**
 * The latch of one level over a whole run of reaches: {@link Latches} with a single level, for millions of means. Counts are kept as
 * the means come and go.
 */
export class Latch {
  readonly #level: number;
  readonly #below: number;
  readonly #needed: number;
  readonly #size: number;
  readonly #over: Uint8Array;
  readonly #under: Uint8Array;
  #place = 0;
  #overs = 0;
  #unders = 0;
  closed = false;

  constructor(
    level: number,
    release: number,
    { needed, of }: { readonly needed: number; readonly of: number },
  ) {
    this.#level = level;
    this.#below = release * level;
    this.#needed = needed;
    this.#size = of;
    this.#over = new Uint8Array(of);
    this.#under = new Uint8Array(of);
  }

  /** Open, and without any mean. */
  reset(): void {
    this.#over.fill(0);
    this.#under.fill(0);
    this.#place = this.#overs = this.#unders = 0;
    this.closed = false;
  }

  /**
   * @param reach how far a mean reaches: itself, or the nearer end of its interval
   * @param size how far it is itself
   * @returns whether the latch closed or opened by this mean
   */
  take(reach: number, size: number): boolean {
    const place = this.#place;
    const over = reach >= this.#level ? 1 : 0;
    const under = size < this.#below ? 1 : 0;
    this.#overs += over - this.#over[place]!;
    this.#unders += under - this.#under[place]!;
    this.#over[place] = over;
    this.#under[place] = under;
    this.#place = place + 1 === this.#size ? 0 : place + 1;
    const turns = this.closed
      ? under === 1 && this.#unders >= this.#needed
      : over === 1 && this.#overs >= this.#needed;
    if (turns) this.closed = !this.closed;
    return turns;
  }
}
