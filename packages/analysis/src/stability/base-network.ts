import { fail } from '@stillmark/problems';
import { symmetricEigen } from '@stillmark/estimation';
import { perAxis, type Axis } from '../topocentric-series.ts';
import { turning } from '../turning.ts';
import type { WindowRange } from '../contrast.ts';
import { aboutMeanOf, windowsWithin, type WindowSeries } from '../windows.ts';
import type { Step } from '../ties.ts';

/** What one stream says of a base seen from the base that it holds. */
export interface BaseVector {
  readonly from: string;
  readonly to: string;
  /** Movement of `to` less that of `from`, in the axes at the reference position of `to`. */
  readonly windows: WindowSeries;
  readonly axes: ArrayLike<number>;
  readonly reference: { readonly fromMs: number; readonly toMs: number };
  readonly steps: readonly Step[];
}

/** Bases with the movement of each against the mean of all, at the windows at which the whole network is there. */
export interface BaseNetwork {
  readonly bases: readonly string[];
  /** Bases that are not in it, and why. */
  readonly left: readonly { readonly id: string; readonly why: string }[];
  /** In which the movements are, row-major. */
  readonly axes: ArrayLike<number>;
  readonly windowMs: number;
  readonly slot: Float64Array;
  /** Of each base, metres. */
  readonly nodes: readonly Readonly<Record<Axis, Float64Array>>[];
  readonly reference: WindowRange;
  readonly referenceMs: { readonly fromMs: number; readonly toMs: number };
  readonly steps: readonly Step[];
}

/** A vector with less than this part of the windows of the fullest one is left out. */
const leastShare = 0.6;
/** Least time that the reference periods of the bases of a network share. */
const leastCommonMs = 7 * 86_400_000;

/**
 * The free network of the bases: at each window the movement of each base that agrees best with all vectors, least squares, their mean
 * being zero (the datum of all bases). Vectors both ways between two bases are one observation, their mean: they come from the same signals.
 *
 * @param endMs bases without a window in the last `silentMs` before it are left out
 * @throws ESTIMATION_INPUT where fewer than two bases are left, or their reference periods share less than a week
 */
export function baseNetwork(
  vectors: readonly BaseVector[],
  allBases: readonly string[],
  endMs: number,
  silentMs: number,
): BaseNetwork {
  const fresh = vectors.filter(
    ({ windows: { slot, windowMs } }) => (slot.at(-1) ?? -1) * windowMs + windowMs > endMs - silentMs,
  );
  const fullest = Math.max(0, ...fresh.map(({ windows }) => windows.slot.length));
  let used = fresh.filter(({ windows }) => windows.slot.length >= leastShare * fullest);
  const why = new Map(allBases.map((id) => [id, 'not seen from another base']));
  for (const { to } of vectors) why.set(to, 'silent at present');
  for (const { to } of fresh) why.set(to, 'seen for a much shorter time than the others');
  const common = (): { fromMs: number; toMs: number } => ({
    fromMs: Math.max(...used.map(({ reference }) => reference.fromMs)),
    toMs: Math.min(...used.map(({ reference }) => reference.toMs)),
  });
  // A base whose reference period has nothing in common with those of the others does not take the test from them.
  while (used.length > 0 && common().toMs - common().fromMs < leastCommonMs) {
    const youngest = used.reduce((a, b) => (b.reference.fromMs > a.reference.fromMs ? b : a)).to;
    why.set(youngest, 'its reference period has less than a week in common with those of the others');
    used = used.filter(({ from, to }) => from !== youngest && to !== youngest);
  }
  const bases = allBases.filter((id) => used.some(({ from, to }) => from === id || to === id));
  if (bases.length < 2) {
    const [reason] =
      fresh.length === 0 ? [] : [...why.values()].filter((text) => text.startsWith('its reference'));
    fail(
      'ESTIMATION_INPUT',
      reason
        ? 'the reference periods of the bases have less than a week in common'
        : 'fewer than two bases see each other at present',
    );
  }
  const { fromMs, toMs } = common();

  const pairs = pairsOf(used, bases);
  const n = bases.length;
  const solver = networkSolver(n, pairs);
  const { windowMs } = used[0]!.windows;
  const places = pairs.map(({ at }) => at);
  const slot = Float64Array.from(
    [...places[0]!.keys()].filter((s) => places.every((p) => p.has(s))).sort((a, b) => a - b),
  );
  const nodes = bases.map(() => perAxis(() => new Float64Array(slot.length)));
  slot.forEach((s, i) => {
    pairs.forEach(({ at }, m) => {
      const value = at.get(s)!;
      for (let k = 0; k < n; k++) {
        const weight = solver[k * pairs.length + m]!;
        nodes[k]!.east[i]! += weight * value[0];
        nodes[k]!.north[i]! += weight * value[1];
        nodes[k]!.up[i]! += weight * value[2];
      }
    });
  });
  const reference = windowsWithin({ slot, windowMs } as WindowSeries, fromMs, toMs);
  if (reference.to - reference.from < 8)
    fail('ESTIMATION_INPUT', 'in their reference period the bases have too few means of the same time');
  return {
    bases,
    left: allBases.flatMap((id) => (bases.includes(id) ? [] : [{ id, why: why.get(id)! }])),
    axes: used[0]!.axes,
    windowMs,
    slot,
    nodes,
    reference,
    referenceMs: { fromMs, toMs },
    steps: used.flatMap((v) => v.steps),
  };
}

interface Pair {
  /** Numbers of the bases: the second less the first. */
  readonly a: number;
  readonly b: number;
  /** By place on the grid of windows, in the axes of the first vector of all. */
  readonly at: ReadonlyMap<number, readonly [number, number, number]>;
}

function pairsOf(vectors: readonly BaseVector[], bases: readonly string[]): Pair[] {
  const axes = vectors[0]!.axes;
  const found = new Map<string, { a: number; b: number; both: Map<number, [number, number, number]>[] }>();
  for (const { from, to, windows, axes: own } of vectors) {
    const [i, j] = [bases.indexOf(from), bases.indexOf(to)];
    const [a, b, sign] = i < j ? [i, j, 1] : [j, i, -1];
    const r = turning(own, axes);
    const at = new Map<number, [number, number, number]>();
    windows.slot.forEach((slot, k) => {
      const [e, n, u] = [windows.east[k]!, windows.north[k]!, windows.up[k]!];
      const row = (q: number): number => sign * (r[3 * q]! * e + r[3 * q + 1]! * n + r[3 * q + 2]! * u);
      at.set(slot, [row(0), row(1), row(2)]);
    });
    const key = `${a} ${b}`;
    const pair = found.get(key) ?? { a, b, both: [] };
    pair.both.push(at);
    found.set(key, pair);
  }
  return [...found.values()].map(({ a, b, both }): Pair => {
    const [first, ...others] = both as [
      Map<number, [number, number, number]>,
      ...Map<number, [number, number, number]>[],
    ];
    const at = new Map<number, [number, number, number]>();
    for (const [slot, value] of first) {
      const rows = [value, ...others.flatMap((other) => (other.has(slot) ? [other.get(slot)!] : []))];
      // Of two ways one alone would change the noise from window to window.
      if (rows.length < both.length) continue;
      at.set(
        slot,
        [0, 1, 2].map((k) => rows.reduce((s, row) => s + row[k]!, 0) / rows.length) as [
          number,
          number,
          number,
        ],
      );
    }
    return { a, b, at };
  });
}

/** n x m: movements of the nodes, their mean zero, from differences of pairs by least squares: the pseudo-inverse of the incidence matrix. */
function networkSolver(n: number, pairs: readonly Pair[]): Float64Array {
  const laplace = new Float64Array(n * n);
  for (const { a, b } of pairs) {
    laplace[a * n + a]! += 1;
    laplace[b * n + b]! += 1;
    laplace[a * n + b]! -= 1;
    laplace[b * n + a]! -= 1;
  }
  const { values, vectors } = symmetricEigen(laplace, n);
  if (!(values[1]! > 1e-9)) fail('ESTIMATION_INPUT', 'the bases fall into groups that do not see each other');
  const m = pairs.length;
  const out = new Float64Array(n * m);
  for (let k = 1; k < n; k++)
    for (let i = 0; i < n; i++)
      pairs.forEach(({ a, b }, q) => {
        out[i * m + q]! += (vectors[k * n + i]! * (vectors[k * n + b]! - vectors[k * n + a]!)) / values[k]!;
      });
  return out;
}

/** The difference of weighted bases as a series of its own. */
export function combined(network: BaseNetwork, weights: readonly number[]): WindowSeries {
  const n = network.slot.length;
  const sum = (axis: Axis): Float64Array => {
    const out = new Float64Array(n);
    weights.forEach((weight, k) => {
      if (weight !== 0) network.nodes[k]![axis].forEach((v, i) => (out[i]! += weight * v));
    });
    return out;
  };
  const formal = new Float64Array(n);
  const summed: WindowSeries = {
    windowMs: network.windowMs,
    slot: network.slot,
    epochs: new Int32Array(n).fill(1),
    east: sum('east'),
    north: sum('north'),
    up: sum('up'),
    formal: { east: formal, north: formal, up: formal },
  };
  return aboutMeanOf(summed, network.reference);
}
