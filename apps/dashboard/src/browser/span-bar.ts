import { dayMs } from '@stillmark/records';
import type { TimeSpan } from '@stillmark/snapshot/series';
import type { ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';
import { pressed } from './gestures.ts';
import { along, clamped, closer } from './span.ts';
import { spanOfLink, wordsOfSpan } from './span-link.ts';

/** Room behind the newest epoch for each day that is shown, so that its mark is whole. */
const marginMs = 0.01 * dayMs;

/** What chooses a span of time, in the page and in its address. */
export class SpanBar {
  readonly whole: TimeSpan;
  readonly note: HTMLElement;
  readonly #bar: HTMLElement;
  readonly #clock: ZoneClock;
  readonly #last: number;
  readonly #days: readonly HTMLButtonElement[];
  readonly #from: HTMLInputElement;
  readonly #to: HTMLInputElement;
  /** Called when another span was chosen: at once, or by something that may go on (a button that is pressed again and again). */
  readonly #chosen: (how: 'at once' | 'going on') => void;
  #part: TimeSpan | undefined;

  constructor(
    bar: HTMLElement,
    { first, last, clock }: { first: number; last: number; clock: ZoneClock },
    chosen: (how: 'at once' | 'going on') => void,
  ) {
    this.whole = { fromMs: first, toMs: last + ((last - first) / dayMs) * marginMs };
    [this.#bar, this.#clock, this.#last, this.#chosen] = [bar, clock, last, chosen];
    this.note = bar.querySelector<HTMLElement>('.zoom-note')!;
    this.#days = Array.from(bar.querySelectorAll<HTMLButtonElement>('[data-days]'));
    this.#from = bar.querySelector<HTMLInputElement>('[data-from]')!;
    this.#to = bar.querySelector<HTMLInputElement>('[data-to]')!;
    for (const input of [this.#from, this.#to]) {
      [input.min, input.max] = [this.#dayOf(first), this.#dayOf(last)];
      input.addEventListener('change', () => this.#byDates());
    }
    for (const button of this.#days) button.addEventListener('click', () => this.#byDays(button));
    const steps: Record<string, (span: TimeSpan) => TimeSpan> = {
      earlier: (span) => along(span, -pressed.along),
      later: (span) => along(span, pressed.along),
      closer: (span) => closer(span, pressed.closer),
      wider: (span) => closer(span, 1 / pressed.closer),
    };
    for (const button of bar.querySelectorAll<HTMLButtonElement>('[data-step]'))
      button.addEventListener('click', () => this.move(steps[button.dataset['step']!]!(this.shown)));
    this.#showDates();
  }

  /** The part that is shown; none where all is. */
  get part(): TimeSpan | undefined {
    return this.#part;
  }

  get shown(): TimeSpan {
    return this.#part ?? this.whole;
  }

  /** Moves what is shown, within the whole. */
  move(span: TimeSpan): void {
    const next = clamped(span, this.whole);
    const all = next.toMs - next.fromMs >= 0.999 * (this.whole.toMs - this.whole.fromMs);
    this.#set(all ? undefined : next, 'going on');
  }

  showAll(): void {
    this.#set(undefined, 'at once', this.#days[0]);
  }

  /** Shows the span that the address of the page names; false where it names none. */
  showLinked(): boolean {
    const query = new URLSearchParams(location.search);
    const span = spanOfLink(query.get('from') ?? '', query.get('to') ?? '', this.#clock);
    if (span) this.#set(span, 'at once');
    return span !== undefined;
  }

  /** Writes what is shown into the dates, the address of the page, and links that lead to the same time elsewhere. */
  tell(links: Iterable<HTMLAnchorElement>, more: Record<string, string> = {}): void {
    this.#showDates();
    const words = this.#part ? wordsOfSpan(this.#part, this.#clock, this.#last) : {};
    const query = new URLSearchParams({ ...words, ...more });
    const text = query.size > 0 ? `?${query}` : '';
    history.replaceState(undefined, '', `${location.pathname}${text}${location.hash}`);
    for (const link of links) link.search = text;
  }

  disable(note: string): void {
    for (const control of this.#bar.querySelectorAll<HTMLButtonElement>('button, input, select'))
      control.disabled = true;
    this.note.textContent = note;
  }

  #set(part: TimeSpan | undefined, how: 'at once' | 'going on', button?: HTMLButtonElement): void {
    this.#part = part;
    const on = button ?? (part ? undefined : this.#days[0]);
    for (const each of this.#days) each.setAttribute('aria-pressed', String(each === on));
    this.#chosen(how);
  }

  #byDays(button: HTMLButtonElement): void {
    const days = Number(button.dataset['days']);
    const last = this.#last;
    this.#set(
      days > 0
        ? { fromMs: Math.max(this.whole.fromMs, last - days * dayMs), toMs: last + days * marginMs }
        : undefined,
      'at once',
      button,
    );
  }

  #byDates(): void {
    if (!this.#from.value || !this.#to.value) return;
    const span = spanOfLink(this.#from.value, this.#to.value, this.#clock);
    if (span) this.#set(span, 'at once');
    else this.note.textContent = t`The last day lies before the first.`;
  }

  #showDates(): void {
    const end = this.#part ? Math.min(this.#last, this.#part.toMs - 1) : this.#last;
    [this.#from.value, this.#to.value] = [this.#dayOf(this.shown.fromMs), this.#dayOf(end)];
  }

  #dayOf(ms: number): string {
    return new Date(ms + this.#clock.offsetMs(ms)).toISOString().slice(0, 10);
  }
}
