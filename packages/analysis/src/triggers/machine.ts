import {
  formatInstant,
  type ChangeRecord,
  type EvaluationRecord,
  type TriggerCondition,
  type TriggerRule,
  type TriggerState,
} from '@stillmark/records';
import type { Evaluations } from './evaluate.ts';

export interface MachineTask extends TriggerRule {
  /** From the lowest to the highest. */
  readonly levels: readonly number[];
  readonly missing: { readonly means: 'passed over' | 'against'; readonly noDataAfterMs: number };
  /** Watched from here on (the end of the reference period); absent where it cannot be watched yet. */
  readonly fromMs?: number;
  /** Not watched any more from here on. */
  readonly toMs?: number;
  readonly asOfMs: number;
  readonly staleAfterMs: number;
  /** Spans in which the base of the stream is in doubt. */
  readonly doubts: readonly { readonly fromMs: number; readonly toMs: number; readonly why: string }[];
}

export interface Watched {
  readonly state: TriggerState;
  readonly since?: string;
  readonly newest?: EvaluationRecord;
  readonly changes: readonly ChangeRecord[];
}

/** Of a change no more means are told. */
const mostTold = 12;

/**
 * The states of a trigger from the first mean to the as-of time, as a function of the means alone.
 *
 * Each level is a latch. It closes when `needed` of the newest `of` means pass it, the newest among them; it opens when as many of the
 * newest `of` come below the release share of it, the newest among them. Since levels rise and all share one rule, a closed latch
 * means that all below it are closed. Conditions other than `measured` (no data, stale, in doubt) hide nothing: latches go on
 * beneath them, and a state always says both. After a gap of `noDataAfterMs` the count of means begins anew, latches stay.
 */
export function runMachine(means: Evaluations, task: MachineTask): Watched {
  const { fromMs, toMs = Number.POSITIVE_INFINITY, asOfMs, missing, staleAfterMs } = task;
  let state: TriggerState = { condition: 'establishing', level: 0 };
  if (fromMs === undefined) return { state, changes: [] };
  const changes: ChangeRecord[] = [];
  const latches = new Latches(task);
  const { windowMs } = means;
  const recent: EvaluationRecord[] = [];
  let newestMs = fromMs;
  let next = 0;
  while (next < means.endMs.length && means.endMs[next]! - windowMs < fromMs) next++;
  const become = (ms: number, condition: TriggerCondition, why?: string): void => {
    const to = { condition, level: latches.level };
    if (to.condition === state.condition && to.level === state.level) return;
    const made = recent.slice(-Math.min(task.persistence.of, mostTold));
    changes.push({ at: formatInstant(ms), from: state, to, made, ...(why === undefined ? {} : { why }) });
    state = to;
  };
  const judge = (ms: number): void => {
    const gap = ms - newestMs;
    const doubt = task.doubts.find((d) => ms >= d.fromMs && ms <= d.toMs);
    if (gap >= missing.noDataAfterMs) {
      latches.forget();
      become(ms, 'no-data');
    } else if (recent.length === 0) return;
    else if (gap > staleAfterMs) become(ms, 'stale');
    else if (doubt) become(ms, 'in-doubt', doubt.why);
    else become(ms, 'measured');
  };
  const end = Math.min(asOfMs, toMs);
  for (let ms = Math.ceil(fromMs / windowMs) * windowMs; ms <= end; ms += windowMs) {
    if (means.endMs[next] === ms) {
      const mean = { value: means.value[next]!, plusMinus: means.plusMinus[next]! };
      next++;
      newestMs = ms;
      recent.push({
        at: formatInstant(ms),
        value: mean.value,
        ...(Number.isNaN(mean.plusMinus) ? {} : { plusMinus: mean.plusMinus }),
      });
      if (recent.length > mostTold) recent.shift();
      latches.take(mean);
    } else if (missing.means === 'against') latches.miss();
    judge(ms);
  }
  if (asOfMs > toMs) become(toMs, 'ended');
  else judge(asOfMs);
  return {
    state,
    ...(changes.length > 0 ? { since: changes.at(-1)!.at } : {}),
    ...(recent.length > 0 ? { newest: recent.at(-1)! } : {}),
    changes,
  };
}

/** How far a mean reaches: what is compared with levels. */
export function reach(
  value: number,
  plusMinus: number,
  { side, basis }: Pick<TriggerRule, 'side' | 'basis'>,
): number {
  const size = side === 'either' ? Math.abs(value) : side === 'positive' ? value : -value;
  return basis === 'estimate' ? size : size - plusMinus;
}

/** The latches of all levels, and the counts that move them. */
export class Latches {
  readonly #levels: readonly number[];
  readonly #rule: TriggerRule;
  /** Newest first; NaN for a missing mean that counts against. */
  readonly #reaches: number[] = [];
  #level = 0;

  constructor({ levels, ...rule }: TriggerRule & { readonly levels: readonly number[] }) {
    this.#levels = levels;
    this.#rule = rule;
  }

  /** Number of the highest closed latch; 0 where all are open. */
  get level(): number {
    return this.#level;
  }

  take({ value, plusMinus }: { readonly value: number; readonly plusMinus: number }): void {
    this.#push(reach(value, plusMinus, this.#rule));
    const { needed } = this.#rule.persistence;
    const { release } = this.#rule;
    const newest = this.#reaches[0]!;
    const count = (keep: (r: number) => boolean): number =>
      this.#reaches.reduce((k, r) => k + Number(keep(r)), 0);
    while (this.#level > 0) {
      const below = release * this.#levels[this.#level - 1]!;
      if (!(newest < below) || count((r) => r < below) < needed) break;
      this.#level--;
    }
    while (this.#level < this.#levels.length) {
      const at = this.#levels[this.#level]!;
      if (!(newest >= at) || count((r) => r >= at) < needed) break;
      this.#level++;
    }
  }

  /** A missing mean that neither passes a level nor comes below one. */
  miss(): void {
    this.#push(Number.NaN);
  }

  /** The count begins anew. */
  forget(): void {
    this.#reaches.length = 0;
  }

  #push(value: number): void {
    this.#reaches.unshift(value);
    if (this.#reaches.length > this.#rule.persistence.of) this.#reaches.pop();
  }
}
