import { studentFactor } from '@stillmark/estimation';
import { fail } from '@stillmark/problems';
import { dayMs, formatInstant, type TieRecord } from '@stillmark/records';
import type { ReferenceContrast, WindowRange } from './contrast.ts';
import { along, movement } from './movement.ts';
import type { StationNoise } from './noise.ts';
import { selected, type WindowSeries } from './windows.ts';

/**
 * A step of a series that is no movement: an antenna exchanged or knocked, another antenna model or base coordinate in the
 * processing.
 */
export interface Step {
  readonly atMs: number;
  readonly what: string;
}

/** A step with the windows before and after it whose means say how large it is. */
export interface Tie extends Step {
  /** Index of the first window after the step. */
  readonly index: number;
  readonly before: WindowRange;
  readonly after: WindowRange;
}

/**
 * Time on each side of a step from which its size is taken. Whole days hold whole daily waves; a longer span would know the step
 * better, and take away more of a movement that goes on at the same time (its velocity times this span).
 */
export const tieSpanMs = 4 * dayMs;

const leastTieWindows = 4;

/** Windows without those in which a step lies: their means are of two different things. */
export function withoutSteps(windows: WindowSeries, steps: readonly Step[]): WindowSeries {
  const { windowMs } = windows;
  const broken = new Set(
    steps.filter(({ atMs }) => atMs % windowMs !== 0).map(({ atMs }) => Math.floor(atMs / windowMs)),
  );
  if (!windows.slot.some((slot) => broken.has(slot))) return windows;
  const kept = Array.from(windows.slot.keys()).filter((i) => !broken.has(windows.slot[i]!));
  return selected(windows, kept);
}

/**
 * The ties of all steps that have windows on both sides, in order of time.
 *
 * @throws ESTIMATION_INPUT where a step lies in the reference period, or where too few windows stand beside one to tell its size
 */
export function tieSteps(windows: WindowSeries, steps: readonly Step[], reference: WindowRange): Tie[] {
  const { slot, windowMs } = windows;
  const n = slot.length;
  const firstAfter = (ms: number): number => {
    const index = slot.findIndex((s) => s * windowMs >= ms);
    return index < 0 ? n : index;
  };
  const ordered = mergedSteps(steps, (a, b) => firstAfter(a.atMs) === firstAfter(b.atMs));
  return ordered.flatMap((step, k): Tie[] => {
    const index = firstAfter(step.atMs);
    if (index === 0 || index === n) return [];
    if (index > reference.from && index < reference.to)
      fail('ESTIMATION_INPUT', `the reference period holds a step that is no movement (${describe(step)})`);
    const earliest = Math.max(step.atMs - tieSpanMs, ordered[k - 1]?.atMs ?? Number.NEGATIVE_INFINITY);
    const latest = Math.min(step.atMs + tieSpanMs, ordered[k + 1]?.atMs ?? Number.POSITIVE_INFINITY);
    const before = { from: firstAfter(earliest), to: index };
    let to = index;
    while (to < n && (slot[to]! + 1) * windowMs <= latest) to++;
    const after = { from: index, to };
    const least = Math.min(leastTieWindows, Math.max(1, Math.round(tieSpanMs / windowMs)));
    for (const [side, { from, to: end }] of [
      ['before', before],
      ['after', after],
    ] as const) {
      if (end - from >= least) continue;
      fail(
        'ESTIMATION_INPUT',
        `the size of a step that is no movement cannot be told: ${Math.max(0, end - from)} means in the four days ${side} it, ${least} are needed (${describe(step)})`,
      );
    }
    return [{ ...step, index, before, after }];
  });
}

/**
 * Steps in order of time, those that nothing tells apart as one: nobody can say what each of them did.
 *
 * @param together whether no value lies between a step and a later one
 */
export function mergedSteps<T extends Step>(steps: readonly T[], together: (a: T, b: T) => boolean): T[] {
  const out: T[] = [];
  for (const step of steps.toSorted((a, b) => a.atMs - b.atMs)) {
    const last = out.at(-1);
    if (!last || !together(last, step)) out.push(step);
    else if (last.what !== step.what) out[out.length - 1] = { ...last, what: `${last.what}; ${step.what}` };
  }
  return out;
}

function describe({ atMs, what }: Step): string {
  return `${formatInstant(atMs)}, ${what}`;
}

/** What the ties of a contrast take off, and how sure their sizes are. */
export function tieRecords(
  windows: WindowSeries,
  contrast: ReferenceContrast,
  noise: StationNoise,
  confidence: number,
): TieRecord[] {
  return contrast.ties.map((tie) => {
    const size = movement(windows, contrast, noise, contrast.step(tie));
    const azimuth = Math.atan2(size.east_mm, size.north_mm);
    return {
      at: formatInstant(tie.atMs),
      what: tie.what,
      east_mm: size.east_mm,
      north_mm: size.north_mm,
      up_mm: size.up_mm,
      horizontalPlusMinus_mm:
        studentFactor(confidence, size.horizontalFreedom) * Math.sqrt(along(size, azimuth).variance),
      upPlusMinus_mm: studentFactor(confidence, size.upFreedom) * Math.sqrt(size.uu),
    };
  });
}
