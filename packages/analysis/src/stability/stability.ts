import {
  congruency,
  type NoiseComponents,
  fP,
  iterativeDatum,
  leastSquares,
  satterthwaite,
  transformed,
  translationDatum,
} from '@stillmark/estimation';
import {
  dayMs,
  formatInstant,
  type BaseMovement,
  type StabilityDay,
  type StabilityFinding,
  type StabilityRecord,
  type StatementSettings,
} from '@stillmark/records';
import { ReferenceContrast, type Weights } from '../contrast.ts';
import { networkNoise } from '../noise.ts';
import { presentOf } from '../present.ts';
import type { Remember } from '../remember.ts';
import { judgeMovements } from '../statements.ts';
import { tieSteps } from '../ties.ts';
import { axes, type Axis } from '../topocentric-series.ts';
import { trajectoryOf } from '../trajectory.ts';
import { dailyMeans, windowsWithin } from '../windows.ts';
import { combined, type BaseNetwork } from './base-network.ts';

/** A day speaks against the bases where so small a part of still networks would; what that is worth with the persistence is simulated (tests/benchmarks/stability.ts). */
export const stabilitySignificance = 0.005;
/** So many days in a row name the same bases before they are said to move. */
export const stabilityPersistence = 4;

export interface StabilityTask {
  readonly network: BaseNetwork;
  readonly settings: StatementSettings;
  readonly asOfMs: number;
  /** Memory of what was computed from the same inputs before. */
  readonly remember?: Remember | undefined;
}

/**
 * Do the bases keep their places among each other? Day by day the mean of the span of the present is tested against the reference period:
 * congruency test with the covariance that the noise of the vectors gives (Pelzer 1971; Niemeier 1985), then localisation by iterative
 * weighted similarity transformation (Chen 1983): the base that stands out most in that datum is taken out and the rest is tested
 * again, as long as those that stay are the majority. Where another set of as many bases explains the day as well, none is named.
 *
 * Covariance: of each base its own noise, such that its sum over two bases is the variance of the vector between them, in the datum of all
 * (S C S'). The degrees of freedom are the least of those of the vectors.
 *
 * @throws ESTIMATION_INPUT where the noise of a vector is not known
 */
export function stabilityOf({ network, settings, asOfMs, remember }: StabilityTask): StabilityRecord {
  const { bases, left, referenceMs } = network;
  const tester = new NetworkTest(network);
  const days: (StabilityDay & { readonly verdict: Verdict })[] = [];
  const { slot, windowMs } = network;
  const end = Math.ceil(Math.min(asOfMs, (slot.at(-1)! + 1) * windowMs) / windowMs) * windowMs;
  const first = Math.ceil(referenceMs.toMs / dayMs) * dayMs + settings.statementMs;
  for (let at = end; at >= first; at -= dayMs) {
    const range = windowsWithin(tester.windows, at - settings.statementMs, at);
    if (range.to === range.from) continue;
    const verdict = tester.at(range);
    days.unshift({ at: formatInstant(at), p: verdict.p, accused: verdict.accused, verdict });
  }
  const last = days.at(-1);
  const range = windowsWithin(tester.windows, end - settings.statementMs, end);
  const now =
    last && Date.parse(last.at) === end
      ? last.verdict
      : tester.at(range.to > range.from ? range : { from: slot.length - 1, to: slot.length });
  const finding = findingOf(network, settings, days);
  const moving = finding.kind === 'moving' ? finding.moving.map(({ id }) => id) : [];
  return {
    bases,
    left,
    window: { from: formatInstant(end - settings.statementMs), to: formatInstant(end) },
    reference: { from: formatInstant(referenceMs.fromMs), to: formatInstant(referenceMs.toMs) },
    statistic: now.statistic,
    dimension: now.dimension,
    degreesOfFreedom: now.freedom,
    p: now.p,
    significance: stabilitySignificance,
    persistence: stabilityPersistence,
    finding,
    movements: movementsOf(network, settings, end, moving, remember),
    days: days.map(({ at, p, accused }) => ({ at, p, accused })),
    series: bases.map((id) => ({ id, ...seriesOf(network, settings, id, moving, days) })),
  };
}

interface Verdict {
  readonly statistic: number;
  readonly dimension: number;
  readonly freedom: number;
  readonly p: number;
  /** Bases that the day names; empty where it is congruent or names none. */
  readonly accused: readonly string[];
}

/** The congruency test of a network, with what does not change from day to day. */
class NetworkTest {
  readonly windows: ReturnType<typeof combined>;
  readonly #network: BaseNetwork;
  readonly #contrast: ReferenceContrast;
  readonly #pairs: readonly {
    readonly a: number;
    readonly b: number;
    readonly noise: Record<Axis, NoiseComponents>;
  }[];
  readonly #series: readonly Readonly<Record<Axis, Float64Array>>[];

  constructor(network: BaseNetwork) {
    const { bases, steps, reference } = network;
    this.#network = network;
    const unit = (k: number): number[] => bases.map((_, i) => (i === k ? 1 : 0));
    this.#series = bases.map((_, k) => combined(network, unit(k)));
    this.windows = combined(network, unit(0));
    this.#contrast = new ReferenceContrast(this.windows, reference, tieSteps(this.windows, steps, reference));
    const pairs = subsets(
      bases.map((_, k) => k),
      2,
    ).map(([a, b]) => ({ a: a!, b: b! }));
    const noise = networkNoise(
      pairs.map(({ a, b }) =>
        combined(
          network,
          bases.map((_, i) => (i === b ? 1 : i === a ? -1 : 0)),
        ),
      ),
      this.#contrast,
    );
    this.#pairs = pairs.map((pair, q) => ({ ...pair, noise: noise[q]! }));
  }

  at(range: { readonly from: number; readonly to: number }): Verdict {
    const { bases } = this.#network;
    const mean = this.#contrast.mean(range);
    const weights: Weights = this.#contrast.tied(mean);
    const { a, b } = this.#contrast.tiedCoefficients(mean, range);
    let freedom = Number.POSITIVE_INFINITY;
    const own = axes.map((axis) => {
      const variances = this.#pairs.map(({ noise }) => {
        const { variance, degreesOfFreedom } = satterthwaite(noise[axis], a, b);
        freedom = Math.min(freedom, degreesOfFreedom);
        return variance;
      });
      return this.#ofEachBase(variances);
    });
    // The vectors between n bases are n - 1 that know something of their own.
    freedom *= (bases.length - 1) / this.#pairs.length;
    // Of years of windows a day weighs few.
    const weighed: number[] = [];
    weights.forEach((w, i) => {
      if (w !== 0) weighed.push(i);
    });
    const sum = (values: Float64Array): number =>
      weighed.reduce((total, i) => total + weights[i]! * values[i]!, 0);
    const d = bases.map((_, k) => axes.map((axis) => sum(this.#series[k]![axis])));
    const among = (members: readonly number[]): { statistic: number; dimension: number; p: number } => {
      const m = members.length;
      const datum = translationDatum(new Float64Array(m).fill(1));
      let [quadratic, rank] = [0, 0];
      axes.forEach((_, q) => {
        const c = new Float64Array(m * m);
        members.forEach((k, i) => (c[i * m + i] = own[q]![k]!));
        const mean = members.reduce((s, k) => s + d[k]![q]!, 0) / m;
        const found = congruency(
          members.map((k) => d[k]![q]! - mean),
          transformed(datum, c, m),
        );
        quadratic += found.quadratic;
        rank += found.rank;
      });
      const statistic = quadratic / rank;
      return { statistic, dimension: rank, p: fP(statistic, rank, freedom) };
    };
    const all = bases.map((_, k) => k);
    const whole = among(all);
    return {
      ...whole,
      freedom,
      accused: this.#accused(whole.p, d, own, all, (m) => among(m).p).map((k) => bases[k]!),
    };
  }

  #accused(
    p: number,
    d: readonly (readonly number[])[],
    own: readonly Float64Array[],
    all: readonly number[],
    test: (members: readonly number[]) => number,
  ): number[] {
    if (p > stabilitySignificance) return [];
    const n = all.length;
    let rest = [...all];
    const out: number[] = [];
    while (2 * (out.length + 1) < n) {
      // In the datum of the iteration those that stand still are near zero.
      const there = iterativeDatum(
        rest.map((k) => d[k]!),
        1e-5,
      );
      const size = rest.map((k, i) => there[i]!.reduce((s, v, q) => s + (v * v) / own[q]![k]!, 0));
      const worst = rest[size.indexOf(Math.max(...size))]!;
      out.push(worst);
      rest = rest.filter((k) => k !== worst);
      if (test(rest) > stabilitySignificance) break;
    }
    if (2 * out.length >= n || test(rest) <= stabilitySignificance) return [];
    // Another set of as many bases that leaves the rest congruent says that none is singled out.
    const others = subsets(all, out.length).filter((set) => set.some((k) => !out.includes(k)));
    return others.some((set) => test(all.filter((k) => !set.includes(k))) > stabilitySignificance)
      ? []
      : out.toSorted((x, y) => x - y);
  }

  /** Variance of each base such that sums over two are those of the vectors; with two bases both have half. */
  #ofEachBase(variances: readonly number[]): Float64Array {
    const n = this.#network.bases.length;
    if (n === 2) return Float64Array.of(variances[0]! / 2, variances[0]! / 2);
    const design = new Float64Array(this.#pairs.length * n);
    this.#pairs.forEach(({ a, b }, q) => (design[q * n + a] = design[q * n + b] = 1));
    const { coefficients } = leastSquares(design, n, Float64Array.from(variances));
    // A base whose noise is drowned by the others' is not without noise.
    const least = (0.1 * variances.reduce((s, v) => s + v, 0)) / variances.length / 2;
    return coefficients.map((v) => Math.max(v, least));
  }
}

function subsets(of: readonly number[], size: number): number[][] {
  if (size === 0) return [[]];
  return of.flatMap((k, i) => subsets(of.slice(i + 1), size - 1).map((rest) => [k, ...rest]));
}

function findingOf(
  network: BaseNetwork,
  settings: StatementSettings,
  days: readonly (StabilityDay & { readonly verdict: Verdict })[],
): StabilityFinding {
  // A base is said to move once it was named for some days in a row, and until the network was congruent for as many.
  const since = new Map<string, number>();
  const named = new Map<string, number>();
  let [calm, open] = [0, -1];
  days.forEach(({ p, accused }, i) => {
    calm = p > stabilitySignificance ? calm + 1 : 0;
    if (calm >= stabilityPersistence) {
      since.clear();
      open = -1;
    } else if (calm === 0 && open < 0) open = i;
    for (const id of network.bases) {
      const run = accused.includes(id) ? (named.get(id) ?? 0) + 1 : 0;
      named.set(id, run);
      if (run >= stabilityPersistence && !since.has(id)) since.set(id, i - run + 1);
    }
  });
  if (2 * since.size >= network.bases.length && since.size > 0)
    return { kind: 'unclear', since: days[Math.min(...since.values())]!.at };
  if (since.size > 0)
    return {
      kind: 'moving',
      moving: [...since].map(([id, start]) => ({
        id,
        since: days[start]!.at,
        ...changeOf(network, settings, id, [...since.keys()]),
      })),
    };
  const last = days.at(-1);
  if (!last || open < 0 || last.p > stabilitySignificance) return { kind: 'congruent' };
  return days.length - open < stabilityPersistence
    ? { kind: 'watch', accused: last.accused }
    : { kind: 'unclear', since: days[open]!.at };
}

/** Between which days a base began to move against those that stand still, by the search for changes of its daily means. */
function changeOf(
  network: BaseNetwork,
  { confidence }: StatementSettings,
  id: string,
  moving: readonly string[],
): { earliest?: string; latest?: string } {
  const daily = dailyMeans(ontoStable(network, id, moving));
  const [change] =
    trajectoryOf(
      daily,
      network.steps.map((step) => ({ ...step, kind: 'instrument' as const })),
      confidence,
    )?.changes ?? [];
  return change ? { earliest: change.earliest, latest: change.latest } : {};
}

/** A base in the datum of those that stand still, day by day; a micrometre is below anything that can be meant. */
function seriesOf(
  network: BaseNetwork,
  settings: StatementSettings,
  id: string,
  moving: readonly string[],
  days: readonly StabilityDay[],
): Record<`${Axis}_mm`, number[]> {
  const windows = ontoStable(network, id, moving);
  const ranges = days.map(({ at }) =>
    windowsWithin(windows, Date.parse(at) - settings.statementMs, Date.parse(at)),
  );
  const ties = tieSteps(windows, network.steps, network.reference);
  const contrast = new ReferenceContrast(windows, network.reference, ties);
  const of = (axis: Axis): number[] => {
    const offset = contrast.offsets(axis);
    const tied = windows[axis].map((v, i) => v - offset[i]!);
    return ranges.map(({ from, to }) => {
      const mean = tied.subarray(from, to).reduce((sum, v) => sum + v, 0) / (to - from);
      return Number((1000 * mean).toFixed(3));
    });
  };
  return { east_mm: of('east'), north_mm: of('north'), up_mm: of('up') };
}

/** The movement of a base against the mean of those that stand still. */
export function ontoStable(
  network: BaseNetwork,
  id: string,
  moving: readonly string[],
): ReturnType<typeof combined> {
  const stable = network.bases.filter((base) => !moving.includes(base) && base !== id);
  return combined(
    network,
    network.bases.map((base) => (base === id ? 1 : stable.includes(base) ? -1 / stable.length : 0)),
  );
}

/** Movements of all bases in the datum of those that stand still: each against the mean of the others of them. */
function movementsOf(
  network: BaseNetwork,
  settings: StatementSettings,
  endMs: number,
  moving: readonly string[],
  remember: Remember | undefined,
): BaseMovement[] {
  const found = network.bases.flatMap((id) => {
    const { judged } = presentOf(
      { reference: network.referenceMs, steps: network.steps, settings, asOfMs: endMs, remember },
      ontoStable(network, id, moving),
    );
    return judged ? [{ id, movement: judged.displacement }] : [];
  });
  return judgeMovements(
    found.map(({ movement }) => movement),
    settings,
    remember,
  ).map(({ horizontal, up }, i) => ({
    id: found[i]!.id,
    stable: !moving.includes(found[i]!.id),
    east_mm: found[i]!.movement.east_mm,
    north_mm: found[i]!.movement.north_mm,
    up_mm: found[i]!.movement.up_mm,
    horizontal,
    up,
  }));
}
