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
  /** What was seen up to here; means that end later are not whole yet. */
  readonly untilMs: number;
  /** Ends of the windows that are there, ascending: without any for this long the newest mean is stale. */
  readonly dataMs: Float64Array;
  readonly staleAfterMs: number;
  /** Spans, from (with) and to (without), in which the figures are in doubt. */
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
 * The states of a trigger from the first mean on, as a function of the means, of when there were data, and of the spans of doubt.
 *
 * Each level is a latch. It closes when `needed` of the newest `of` means pass it, the newest among them; it opens when as many of the
 * newest `of` are themselves below the release share of it, the newest among them: where the nearer end of an interval must pass a
 * level, it is not left because the interval is wide. Since levels rise and all share one rule, a closed latch means that all below
 * it are closed. Conditions other than `measured` hide nothing: latches go on beneath them, and a state always says both. After
 * `noDataAfterMs` without data the count of means begins anew, latches stay. Changes are dated by what makes them, and not by when
 * somebody looked: an earlier `untilMs` gives the earlier part of the same changes.
 */
export function runMachine(means: Evaluations, task: MachineTask): Watched {
  const { fromMs, toMs = Number.POSITIVE_INFINITY, untilMs } = task;
  if (fromMs === undefined) return { state: { condition: 'establishing', level: 0 }, changes: [] };
  const run = new Run(task);
  for (const { ms, happens, mean } of happenings(means, task, Math.min(untilMs, toMs))) {
    if (mean) run.take(ms, mean);
    else run.happen(happens);
    run.settle(ms);
  }
  if (untilMs >= toMs) run.end(toMs);
  return run.result();
}

interface Happening {
  readonly ms: number;
  readonly happens: 'mean' | 'miss' | 'stale' | 'no-data' | 'doubt';
  readonly mean?: { readonly value: number; readonly plusMinus: number };
}

/** At one instant means come first, and doubts last. */
const order: Readonly<Record<Happening['happens'], number>> = {
  mean: 0,
  miss: 1,
  stale: 2,
  'no-data': 3,
  doubt: 4,
};

/** Everything that may change a state, in the order of time. */
function happenings(means: Evaluations, task: MachineTask, endMs: number): Happening[] {
  const { fromMs = 0, missing, staleAfterMs, doubts } = task;
  const { windowMs, endMs: ends } = means;
  const out: Happening[] = [];
  const begin = Math.ceil(fromMs / windowMs) * windowMs;
  const add = (ms: number, happens: Happening['happens']): unknown =>
    ms > fromMs && ms <= endMs && out.push({ ms, happens });
  let next = 0;
  while (next < ends.length && ends[next]! - windowMs < fromMs) next++;
  let newest = begin;
  for (let ms = begin + windowMs; ms <= endMs; ms += windowMs) {
    if (ends[next] === ms) {
      out.push({
        ms,
        happens: 'mean',
        mean: { value: means.value[next]!, plusMinus: means.plusMinus[next]! },
      });
      newest = ms;
      next++;
      continue;
    }
    add(ms, 'miss');
    // Data without a mean of them for too long are as good as none.
    const late = newest + windowMs + missing.noDataAfterMs;
    if (late > ms - windowMs && late <= ms) add(late, 'no-data');
  }
  const data = task.dataMs.filter((ms) => ms > fromMs && ms <= endMs);
  [fromMs, ...data].forEach((ms, i) => {
    const following = data[i] ?? Number.POSITIVE_INFINITY;
    if (following > ms + staleAfterMs) add(ms + staleAfterMs, 'stale');
    if (following > ms + missing.noDataAfterMs) add(ms + missing.noDataAfterMs, 'no-data');
  });
  for (const { fromMs: from, toMs: to } of doubts) {
    add(from, 'doubt');
    add(to, 'doubt');
  }
  return out.toSorted((a, b) => a.ms - b.ms || order[a.happens] - order[b.happens]);
}

class Run {
  readonly #task: MachineTask;
  readonly #latches: Latches;
  readonly #changes: ChangeRecord[] = [];
  /** The means that count now, and the newest of all. */
  #counted: EvaluationRecord[] = [];
  #newest: EvaluationRecord | undefined;
  #supply: 'none yet' | 'measured' | 'stale' | 'no-data' = 'none yet';
  #state: TriggerState = { condition: 'establishing', level: 0 };

  constructor(task: MachineTask) {
    this.#task = task;
    this.#latches = new Latches(task);
  }

  take(ms: number, mean: { readonly value: number; readonly plusMinus: number }): void {
    const known = Number.isNaN(mean.plusMinus) ? {} : { plusMinus: mean.plusMinus };
    this.#newest = { at: formatInstant(ms), value: mean.value, ...known };
    this.#counted.push(this.#newest);
    if (this.#counted.length > Math.min(this.#task.persistence.of, mostTold)) this.#counted.shift();
    this.#latches.take(mean);
    this.#supply = 'measured';
  }

  happen(what: Happening['happens']): void {
    if (what === 'miss' && this.#task.missing.means === 'against') this.#latches.miss();
    if (what === 'stale' && this.#supply === 'measured') this.#supply = 'stale';
    if (what === 'no-data') {
      this.#supply = 'no-data';
      this.#counted = [];
      this.#latches.forget();
    }
  }

  /** Where an instant leaves the state. */
  settle(ms: number): void {
    if (this.#supply === 'none yet') return;
    const doubt = this.#task.doubts.find(({ fromMs, toMs }) => ms >= fromMs && ms < toMs);
    if (this.#supply === 'measured' && doubt) this.#become(ms, 'in-doubt', doubt.why);
    else this.#become(ms, this.#supply);
  }

  end(ms: number): void {
    this.#become(ms, 'ended');
  }

  #become(ms: number, condition: TriggerCondition, why?: string): void {
    const to = { condition, level: this.#latches.level };
    if (to.condition === this.#state.condition && to.level === this.#state.level) return;
    const made = this.#counted.length > 0 ? [...this.#counted] : this.#newest ? [this.#newest] : [];
    this.#changes.push({
      at: formatInstant(ms),
      from: this.#state,
      to,
      made,
      ...(why === undefined ? {} : { why }),
    });
    this.#state = to;
  }

  result(): Watched {
    return {
      state: this.#state,
      ...(this.#changes.length > 0 ? { since: this.#changes.at(-1)!.at } : {}),
      ...(this.#newest ? { newest: this.#newest } : {}),
      changes: this.#changes,
    };
  }
}

/** How far a mean is, on the side that is watched. */
export function sizeOn(value: number, { side }: Pick<TriggerRule, 'side'>): number {
  return side === 'either' ? Math.abs(value) : side === 'positive' ? value : -value;
}

/** How far a mean reaches: what is compared with levels. */
export function reach(value: number, plusMinus: number, rule: Pick<TriggerRule, 'side' | 'basis'>): number {
  const size = sizeOn(value, rule);
  return rule.basis === 'estimate' ? size : size - plusMinus;
}

interface Counted {
  /** NaN for a missing mean that counts against. */
  readonly reach: number;
  readonly size: number;
}

/** The latches of all levels, and the counts that move them. */
export class Latches {
  readonly #levels: readonly number[];
  readonly #rule: TriggerRule;
  /** Newest first. */
  readonly #counted: Counted[] = [];
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
    this.#push({ reach: reach(value, plusMinus, this.#rule), size: sizeOn(value, this.#rule) });
    const { release, persistence } = this.#rule;
    const turns = (keep: (c: Counted) => boolean): boolean =>
      keep(this.#counted[0]!) && this.#counted.reduce((k, c) => k + Number(keep(c)), 0) >= persistence.needed;
    while (this.#level > 0) {
      const below = release * this.#levels[this.#level - 1]!;
      if (!turns(({ size }) => size < below)) break;
      this.#level--;
    }
    while (this.#level < this.#levels.length) {
      const at = this.#levels[this.#level]!;
      if (!turns((c) => c.reach >= at)) break;
      this.#level++;
    }
  }

  /** A missing mean that neither passes a level nor comes below one. */
  miss(): void {
    this.#push({ reach: Number.NaN, size: Number.NaN });
  }

  /** The count begins anew. */
  forget(): void {
    this.#counted.length = 0;
  }

  #push(counted: Counted): void {
    this.#counted.unshift(counted);
    if (this.#counted.length > this.#rule.persistence.of) this.#counted.pop();
  }
}
