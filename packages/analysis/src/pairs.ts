import { fail, ProblemError } from '@stillmark/problems';
import {
  formatInstant,
  type PairQuantity,
  type PairRecord,
  type ProfileRecord,
  type Span,
  type StatementSettings,
} from '@stillmark/records';
import { along, type Movement } from './movement.ts';
import { presentOf } from './present.ts';
import { forget, type Remember } from './remember.ts';
import { judgeScalars, type Scalar } from './statements.ts';
import { withoutSteps, type Step } from './ties.ts';
import { watchSeries, type WatchedMeans, type WatchTask } from './triggers/evaluate.ts';
import { turning } from './turning.ts';
import { aboutMeanOf, windowsWithin, type WindowSeries } from './windows.ts';

/** One station of a pair or a line, in one stream. */
export interface Member {
  readonly id: string;
  /** Means in the axes at its reference position, and the period of that; absent where none is committed. */
  readonly known?: {
    readonly windows: WindowSeries;
    readonly reference: { readonly fromMs: number; readonly toMs: number };
  };
  readonly steps: readonly Step[];
  /** East, north and up of its axes, row-major, and its reference position; geocentric, metres. */
  readonly axes: ArrayLike<number>;
  readonly position: readonly [number, number, number];
}

export interface LineTask {
  readonly name: string;
  readonly stream: string;
  readonly members: readonly Member[];
}

interface Judgement {
  readonly settings: StatementSettings;
  readonly asOfMs: number;
}

/** Reference periods that have less than this in common give no figure of two stations. */
const leastCommonMs = 7 * 86_400_000;

/**
 * Movements of stations against each other, all tested together: of pairs the change of the distance and the settlement, of lines
 * the angular distortion of each part.
 *
 * Each figure is computed from a series of its own, the weighted sum of the means of its stations where all of them are there, with
 * the noise of that series. What stations of one stream share (the noise of their base, of the air above the site) is so in the
 * figure as it is: with equal noise half of each station's variance is its base's, and figures that took stations as independent
 * would claim standard deviations sqrt(2) too large.
 */
export function judgeLines(
  pairTasks: readonly LineTask[],
  profileTasks: readonly LineTask[],
  judgement: Judgement,
): { pairs: PairRecord[]; profiles: ProfileRecord[] } {
  const pairs = pairTasks.map((task) => pairOf(task, judgement));
  const profiles = profileTasks.map((task) => profileOf(task, judgement));
  const scalars = [
    ...pairs.flatMap(({ scalars }) => scalars),
    ...profiles.flatMap(({ scalars: own }) => own.filter((v) => v !== undefined)),
  ];
  const tested = new Map(
    judgeScalars(scalars, judgement.settings).map((statement, i) => [scalars[i]!, statement]),
  );
  return {
    pairs: pairs.map(({ record, scalars: [distance, settlement], found }): PairRecord => {
      if (!distance || !settlement || !found) return record;
      const [d, s] = [tested.get(distance), tested.get(settlement)];
      if (!d || !s) return { ...record, reason: 'the reference period is too short to know the noise' };
      const { horizontal_m: length } = record;
      return {
        ...record,
        statement: {
          ...found,
          distance: d,
          settlement: s,
          ...(length > 0.01
            ? { tilt_mm_m: s.value_mm / length, tiltPlusMinus_mm_m: s.plusMinus_mm / length }
            : {}),
        },
      };
    }),
    profiles: profiles.map(({ record, scalars: own }): ProfileRecord => ({
      ...record,
      segments: record.segments.map((segment, i) => {
        const distortion = own[i] && tested.get(own[i]);
        return distortion
          ? {
              ...segment,
              distortion,
              distortion_mm_m: distortion.value_mm / segment.length_m,
              distortionPlusMinus_mm_m: distortion.plusMinus_mm / segment.length_m,
              detectable_mm_m: distortion.detectable_mm / segment.length_m,
            }
          : segment;
      }),
    })),
  };
}

/** What a trigger watches of a pair; where that cannot be stated, why. */
export function watchPair(
  { members }: LineTask,
  watch: WatchTask & { readonly quantity: PairQuantity },
  { settings, asOfMs }: Judgement,
  remember: Remember = forget,
): { watched?: WatchedMeans; reference?: Span; reason?: string } {
  const [a, b] = members as [Member, Member];
  const d = directionOf(a, b);
  try {
    const { windows, reference, steps } = seriesOf(differenceOf(a, b), a);
    return {
      watched: watchSeries(
        windows,
        { reference, steps, settings, asOfMs, remember },
        [watch],
        ({ quantity }) => ({ inputs: [quantity, d], of: (m) => pairFigures(m, d)[quantity] }),
      ),
      reference: { from: formatInstant(reference.fromMs), to: formatInstant(reference.toMs) },
    };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return { reason: error.problems[0]!.message };
  }
}

const differenceOf = (a: Member, b: Member): (readonly [Member, number])[] => [
  [a, -1],
  [b, 1],
];

/** Change of the distance in space, settlement, and its tilt, of the movement of the second station less that of the first. */
function pairFigures(m: Movement, d: ReturnType<typeof directionOf>): Record<PairQuantity, Scalar> {
  const [flat, steep] = [d.horizontal / d.length, d.rise / d.length];
  const level = along(m, d.azimuth);
  const [v1, v2] = [flat * flat * level.variance, steep * steep * m.uu];
  const settlement = { value: m.up_mm, variance: m.uu, freedom: m.upFreedom };
  return {
    distance: {
      value: flat * level.value + steep * m.up_mm,
      variance: v1 + v2,
      freedom: (v1 + v2) ** 2 / (v1 ** 2 / m.horizontalFreedom + v2 ** 2 / m.upFreedom),
    },
    settlement,
    tilt: {
      value: m.up_mm / d.horizontal,
      variance: m.uu / d.horizontal ** 2,
      freedom: m.upFreedom,
    },
  };
}

interface PairFound {
  readonly record: PairRecord;
  readonly scalars: readonly Scalar[];
  readonly found?: Pick<NonNullable<PairRecord['statement']>, 'window' | 'east_mm' | 'north_mm' | 'up_mm'>;
}

function pairOf({ name, stream, members }: LineTask, judgement: Judgement): PairFound {
  const [a, b] = members as [Member, Member];
  const d = directionOf(a, b);
  const record: PairRecord = {
    name,
    from: a.id,
    to: b.id,
    stream,
    distance_m: d.length,
    horizontal_m: d.horizontal,
    azimuthDeg: ((d.azimuth * 180) / Math.PI + 360) % 360,
  };
  try {
    const { movement: m, window, reference } = movementOf(differenceOf(a, b), a, judgement);
    const { distance, settlement } = pairFigures(m, d);
    return {
      record: { ...record, reference },
      scalars: [distance, settlement],
      found: { window, east_mm: m.east_mm, north_mm: m.north_mm, up_mm: m.up_mm },
    };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return { record: { ...record, reason: error.problems[0]!.message }, scalars: [] };
  }
}

/**
 * Angular distortion of each part: its tilt less that of the line from the first station to the last (the rotation relative to the
 * tilt of the whole; Burland and Wroth 1974). Times its length it is a weighted sum of up of at most four stations.
 */
function profileOf(
  { name, stream, members }: LineTask,
  judgement: Judgement,
): { record: ProfileRecord; scalars: (Scalar | undefined)[] } {
  const [first, last] = [members[0]!, members.at(-1)!];
  const lengths = members.slice(1).map((member, i) => directionOf(members[i]!, member).horizontal);
  const whole = directionOf(first, last).horizontal;
  const record = {
    name,
    stations: members.map(({ id }) => id),
    stream,
    segments: lengths.map((length, i) => ({
      from: members[i]!.id,
      to: members[i + 1]!.id,
      length_m: length,
    })),
  };
  const found = lengths.map((length, i): Scalar | string => {
    if (length < 0.01 || whole < 0.01) return 'the stations stand above each other';
    const part = length / whole;
    const weights = new Map<Member, number>();
    const add = (member: Member, weight: number): unknown =>
      weights.set(member, (weights.get(member) ?? 0) + weight);
    add(members[i + 1]!, 1);
    add(members[i]!, -1);
    add(last, -part);
    add(first, part);
    try {
      const involved = [...weights].filter(([, weight]) => Math.abs(weight) > 1e-9);
      const m = movementOf(involved, first, judgement).movement;
      return { value: m.up_mm, variance: m.uu, freedom: m.upFreedom };
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      return error.problems[0]!.message;
    }
  });
  return {
    record: {
      ...record,
      segments: record.segments.map((segment, i) => {
        const own = found[i]!;
        return typeof own === 'string' ? { ...segment, reason: own } : segment;
      }),
    },
    scalars: found.map((own) => (typeof own === 'string' ? undefined : own)),
  };
}

/** The movement of a weighted sum of stations, in the axes of one of them. */
function movementOf(
  members: readonly (readonly [Member, number])[],
  of: Member,
  judgement: Judgement,
): { movement: Movement; window: Span & { windows: number }; reference: Span } {
  const { windows, reference, steps } = seriesOf(members, of);
  const { judged } = presentOf({ reference, steps, ...judgement }, windows);
  if (!judged) return fail('ESTIMATION_INPUT', 'at present not all stations have means of the same time');
  return {
    movement: judged.displacement,
    window: { from: judged.window.from, to: judged.window.to, windows: judged.window.windows },
    reference: { from: formatInstant(reference.fromMs), to: formatInstant(reference.toMs) },
  };
}

/** A weighted sum of stations as a series, with the time that lies in the reference periods of all and the steps of all. */
function seriesOf(
  members: readonly (readonly [Member, number])[],
  { axes }: Member,
): { windows: WindowSeries; reference: { fromMs: number; toMs: number }; steps: Step[] } {
  const parts = members.map(([member, weight]) => {
    if (!member.known) return fail('ESTIMATION_INPUT', `no reference position of ${member.id} is committed`);
    return { ...member.known, axes: member.axes, weight };
  });
  const fromMs = Math.max(...parts.map(({ reference }) => reference.fromMs));
  const toMs = Math.min(...parts.map(({ reference }) => reference.toMs));
  if (toMs - fromMs < leastCommonMs)
    fail('ESTIMATION_INPUT', 'the reference periods of the stations have less than a week in common');
  const steps = members.flatMap(([member]) => member.steps);
  return {
    windows: withoutSteps(sumOfWindows(parts, axes, { fromMs, toMs }), steps),
    reference: { fromMs, toMs },
    steps,
  };
}

/** Means of one station, with the weight they have in a sum. */
export interface Part {
  readonly windows: WindowSeries;
  readonly axes: ArrayLike<number>;
  readonly weight: number;
}

/**
 * The weighted sum of the means of stations at the times at which all have one, turned into one set of axes, about its mean in a reference
 * period, which is what figures are against.
 *
 * @throws ESTIMATION_INPUT where in that period there are no means of the same time
 */
export function sumOfWindows(
  parts: readonly Part[],
  axes: ArrayLike<number>,
  reference: { readonly fromMs: number; readonly toMs: number },
): WindowSeries {
  const summed = sumOf(parts, axes);
  const range = windowsWithin(summed, reference.fromMs, reference.toMs);
  if (range.to - range.from < 2)
    fail('ESTIMATION_INPUT', 'in the reference period the stations have no means of the same time');
  return aboutMeanOf(summed, range);
}

function sumOf(parts: readonly Part[], axes: ArrayLike<number>): WindowSeries {
  const places = parts.map(({ windows }) => new Map(Array.from(windows.slot, (slot, i) => [slot, i])));
  const first = parts[0]!.windows;
  const { windowMs } = first;
  const slot = first.slot.filter((place) => places.every((map) => map.has(place)));
  const n = slot.length;
  const out = { east: new Float64Array(n), north: new Float64Array(n), up: new Float64Array(n) };
  parts.forEach(({ windows, axes: own, weight }, k) => {
    const r = turning(own, axes);
    const { east, north, up } = windows;
    for (let i = 0; i < n; i++) {
      const j = places[k]!.get(slot[i]!)!;
      const v = [east[j]!, north[j]!, up[j]!] as const;
      const of = (row: number): number =>
        r[3 * row]! * v[0] + r[3 * row + 1]! * v[1] + r[3 * row + 2]! * v[2];
      out.east[i]! += weight * of(0);
      out.north[i]! += weight * of(1);
      out.up[i]! += weight * of(2);
    }
  });
  const formal = new Float64Array(n);
  return {
    windowMs,
    slot,
    epochs: new Int32Array(n).fill(1),
    ...out,
    formal: { east: formal, north: formal, up: formal },
  };
}

/** From one station to another in the axes of the first. */
function directionOf(
  a: Member,
  b: Member,
): { length: number; horizontal: number; rise: number; azimuth: number } {
  const d = [0, 1, 2].map((k) => b.position[k]! - a.position[k]!) as [number, number, number];
  const of = (row: number): number =>
    a.axes[3 * row]! * d[0] + a.axes[3 * row + 1]! * d[1] + a.axes[3 * row + 2]! * d[2];
  const [east, north, rise] = [of(0), of(1), of(2)];
  return {
    length: Math.hypot(...d),
    horizontal: Math.hypot(east, north),
    rise,
    azimuth: Math.atan2(east, north),
  };
}
