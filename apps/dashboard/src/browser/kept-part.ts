import type { TimeSpan } from '@stillmark/snapshot/series';

/** What is fetched beyond a span at either side, in lengths of it. */
const beyond = 1;
/** With less than so much left at a side, more is asked for: going along then meets no edge. */
const ahead = 0.4;

/** The part of a series that has been fetched, with the one underway. */
export class KeptPart<T> {
  readonly #read: (span: TimeSpan) => Promise<T>;
  readonly #whole: TimeSpan;
  #kept: { readonly span: TimeSpan; readonly data: T } | undefined;
  #underway: { readonly span: TimeSpan; readonly data: Promise<T> } | undefined;

  /** @param whole how far the series reaches: nothing is asked for beyond it */
  constructor(whole: TimeSpan, read: (span: TimeSpan) => Promise<T>) {
    this.#whole = whole;
    this.#read = read;
  }

  /** What has been fetched, where it covers a span or, failing that, reaches into it. */
  at(span: TimeSpan): { readonly data: T; readonly covers: boolean } | undefined {
    const kept = this.#kept;
    if (!kept || kept.span.toMs < span.fromMs || kept.span.fromMs > span.toMs) return undefined;
    return { data: kept.data, covers: covers(kept.span, this.#within(span)) };
  }

  /** Fetches what will soon be lacking about a span; tells nothing where it cannot be had. */
  prepare(span: TimeSpan, arrived: () => void): void {
    const near = this.#within(wider(span, ahead));
    if (this.#kept && covers(this.#kept.span, near)) return;
    if (this.#underway && covers(this.#underway.span, near)) return;
    this.of(near).then(arrived, () => undefined);
  }

  /** Data that cover a span, fetched where they have not been. */
  async of(span: TimeSpan): Promise<T> {
    const asked = this.#within(span);
    if (this.#kept && covers(this.#kept.span, asked)) return this.#kept.data;
    if (!this.#underway || !covers(this.#underway.span, asked)) {
      const wide = this.#within(wider(asked, beyond));
      const underway = { span: wide, data: this.#read(wide) };
      this.#underway = underway;
      void this.#keep(underway);
    }
    return this.#underway.data;
  }

  async #keep(underway: { readonly span: TimeSpan; readonly data: Promise<T> }): Promise<void> {
    const { span, data: coming } = underway;
    const data = await coming.catch(() => undefined);
    if (this.#underway !== underway) return;
    this.#underway = undefined;
    if (data !== undefined) this.#kept = { span, data };
  }

  #within({ fromMs, toMs }: TimeSpan): TimeSpan {
    return { fromMs: Math.max(fromMs, this.#whole.fromMs), toMs: Math.min(toMs, this.#whole.toMs) };
  }
}

const wider = ({ fromMs, toMs }: TimeSpan, share: number): TimeSpan => ({
  fromMs: fromMs - share * (toMs - fromMs),
  toMs: toMs + share * (toMs - fromMs),
});

const covers = (outer: TimeSpan, inner: TimeSpan): boolean =>
  outer.fromMs <= inner.fromMs && outer.toMs >= inner.toMs;
