import type { CommonModeKind, CommonModeRecord } from '@stillmark/records';
import type { Movement } from '../movement.ts';
import { axes, type Axis } from '../topocentric-series.ts';

/** One station as one stream sees it, against its reference position. */
export interface Seen {
  readonly id: string;
  readonly role: 'base' | 'monitoring';
  readonly movement: Movement;
}

export interface CommonModeTask {
  readonly stream: string;
  /** The base that is held. */
  readonly base: string;
  readonly seen: readonly Seen[];
  /** Share of their variance that the stations have in common: that of the base. */
  readonly shared: number;
}

/** Odds before the data that the base, the structure or a station moved. */
const prior = 0.05;
/** Fewer monitoring stations say nothing of what they have in common. */
const leastStations = 3;

/**
 * What explains the movements that one stream shows: nothing moved, its base moved (all that is seen from it seems to move together), the whole
 * structure moved (its stations did, other bases did not), each with or without some stations that moved alone.
 *
 * For each the generalised least squares fit under V = shared s s' + (1 - shared) diag(s^2), axis by axis; a station that moves alone is
 * one whose vector is free. Compared by the Bayesian criterion (Schwarz 1978, Annals of Statistics 6, 461-464) with the likelihood of
 * Student's distribution, since the variances are estimated, and with odds that are set before the data: one in twenty for a movement
 * of the base, of the structure, and of each station. Stations are freed one by one as long as the criterion falls, at most half of them.
 *
 * @returns undefined where fewer than three monitoring stations are seen
 */
export function commonMode({ stream, base, seen, shared }: CommonModeTask): CommonModeRecord | undefined {
  if (seen.filter(({ role }) => role === 'monitoring').length < leastStations) return undefined;
  const others = seen.filter(({ role }) => role === 'base').map(({ id }) => id);
  const fits = kinds.map((kind) => fitOf(kind, seen, shared));
  const best = Math.min(...fits.map(({ score }) => score));
  const weights = fits.map(({ score }) => Math.exp(-(score - best) / 2));
  const total = weights.reduce((s, w) => s + w, 0);
  return {
    stream,
    base,
    others,
    stations: seen.filter(({ role }) => role === 'monitoring').map(({ id }) => id),
    hypotheses: fits
      .map(({ kind, alone, common }, i) => ({
        kind,
        alone: alone.map(({ id }) => id),
        weight: weights[i]! / total,
        ...(common ? { common } : {}),
      }))
      .toSorted((a, b) => b.weight - a.weight),
  };
}

const kinds: readonly CommonModeKind[] = ['nothing', 'base', 'structure'];

interface Fit {
  readonly kind: CommonModeKind;
  readonly alone: readonly Seen[];
  readonly score: number;
  readonly common?: Readonly<Record<`${Axis}_mm` | `${Axis}Sigma_mm`, number>>;
}

function fitOf(kind: CommonModeKind, seen: readonly Seen[], shared: number): Fit {
  const freedom = medianOf(seen.map(({ movement: m }) => Math.min(m.horizontalFreedom, m.upFreedom)));
  const score = (alone: readonly Seen[]): number => {
    const rest = seen.filter((s) => !alone.includes(s));
    const quadratic = axes.reduce((sum, axis) => sum + quadraticOf(kind, rest, axis, shared).quadratic, 0);
    const n = 3 * seen.length;
    const free = 3 * (alone.length + (kind === 'nothing' ? 0 : 1));
    return (
      (freedom + n) * Math.log1p(quadratic / freedom) +
      free * Math.log(n) -
      2 * Math.log(kind === 'nothing' ? 1 - 2 * prior : prior) -
      2 * alone.length * Math.log(prior / (1 - prior))
    );
  };
  const alone: Seen[] = [];
  let own = score(alone);
  while (2 * (alone.length + 1) <= seen.length) {
    const next = seen
      .filter((s) => !alone.includes(s) && remains(kind, seen, [...alone, s]))
      .map((s) => ({ s, score: score([...alone, s]) }))
      .toSorted((a, b) => a.score - b.score)[0];
    if (!next || next.score >= own) break;
    alone.push(next.s);
    own = next.score;
  }
  if (kind === 'nothing') return { kind, alone, score: own };
  const rest = seen.filter((s) => !alone.includes(s));
  const found = axes.map((axis) => quadraticOf(kind, rest, axis, shared));
  return {
    kind,
    alone,
    score: own,
    common: Object.fromEntries(
      axes.flatMap((axis, k) => [
        [`${axis}_mm`, found[k]!.mean],
        [`${axis}Sigma_mm`, Math.sqrt(found[k]!.variance)],
      ]),
    ) as NonNullable<Fit['common']>,
  };
}

/** A movement of the structure or the base needs stations that show it. */
function remains(kind: CommonModeKind, seen: readonly Seen[], alone: readonly Seen[]): boolean {
  const left = seen.filter((s) => s.role === 'monitoring' && !alone.includes(s)).length;
  return kind === 'nothing' || left >= leastStations - 1;
}

/** y' V^-1 y after the fit of a common value, where the hypothesis has one, with that value and its variance. */
function quadraticOf(
  kind: CommonModeKind,
  rest: readonly Seen[],
  axis: Axis,
  shared: number,
): { quadratic: number; mean: number; variance: number } {
  const y = rest.map(({ movement }) => movement[`${axis}_mm`]);
  const variances = rest.map(({ movement: m }) => ({ east: m.ee, north: m.nn, up: m.uu })[axis]);
  const design = rest.map(({ role }) =>
    kind === 'base' ? 1 : kind === 'structure' && role === 'monitoring' ? 1 : 0,
  );
  // V^-1 by the formula of Sherman and Morrison (1950): V is diagonal but for a product s s'.
  const s = variances.map(Math.sqrt);
  const d = variances.map((v) => (1 - shared) * v);
  const product = (a: readonly number[], b: readonly number[]): number => {
    let [ab, as, bs, ss] = [0, 0, 0, 0];
    for (let i = 0; i < d.length; i++) {
      ab += (a[i]! * b[i]!) / d[i]!;
      as += (a[i]! * s[i]!) / d[i]!;
      bs += (b[i]! * s[i]!) / d[i]!;
      ss += (s[i]! * s[i]!) / d[i]!;
    }
    return ab - (shared * as * bs) / (1 + shared * ss);
  };
  const yy = product(y, y);
  if (kind === 'nothing' || !design.includes(1)) return { quadratic: yy, mean: 0, variance: 0 };
  const xx = product(design, design);
  const xy = product(design, y);
  return { quadratic: yy - (xy * xy) / xx, mean: xy / xx, variance: 1 / xx };
}

function medianOf(values: readonly number[]): number {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)]!;
}
