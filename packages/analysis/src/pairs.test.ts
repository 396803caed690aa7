import { source, whitePlusFlicker, type Source } from '@stillmark/data/synthetic/noise.ts';
import { dayMs, type ProfileSegment, type StatementSettings } from '@stillmark/records';
import { mostOf } from '@stillmark/tooling/chance';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { judgeLines, type Member } from './pairs.ts';
import { presentOf } from './present.ts';

const hour = 3_600_000;
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 6 * hour,
  statementMs: 24 * hour,
  rateMs: 30 * dayMs,
};
const days = 60;
const n = 4 * days;
const asOfMs = days * dayMs;
const reference = { fromMs: 0, toMs: 28 * dayMs };
const level = [1, 0, 0, 0, 1, 0, 0, 0, 1];

/** Stations at places east, north and up of one base, which puts its own noise into all of them; movements since day 40, metres. */
function members(
  random: Source,
  places: readonly (readonly [number, number, number])[],
  moves: readonly (readonly [number, number, number])[] = [],
  base = 1,
): Member[] {
  const axis = (size = 1): Float64Array => whitePlusFlicker(n, 0.0014 * size, 0.0004 * size, random);
  const shared = [axis(base), axis(base), axis(base)];
  return places.map((position, k) => {
    const series = [0, 1, 2].map((a) => {
      const own = axis();
      const all = own.map((v, i) => v - shared[a]![i]! + (i >= 160 ? (moves[k]?.[a] ?? 0) : 0));
      const mean = all.subarray(0, 112).reduce((s, v) => s + v, 0) / 112;
      return all.map((v) => v - mean);
    }) as [Float64Array, Float64Array, Float64Array];
    const formal = new Float64Array(n);
    return {
      id: `T${k + 1}`,
      known: {
        windows: {
          windowMs: 6 * hour,
          slot: Float64Array.from({ length: n }, (_, i) => i),
          epochs: new Int32Array(n).fill(6),
          east: series[0],
          north: series[1],
          up: series[2],
          formal: { east: formal, north: formal, up: formal },
        },
        reference,
      },
      steps: [],
      axes: level,
      position,
    };
  });
}
const line = (...own: Member[]) => ({ name: 'line', stream: 's', members: own });

describe('pairs', () => {
  test('a planted opening, settlement and tilt are found, with their signs', () => {
    const [a, b] = members(
      source(3),
      [
        [0, 0, 0],
        [30, 40, 0],
      ],
      [
        [0, 0, 0],
        [0.006, 0.008, -0.02],
      ],
    ) as [Member, Member];
    const {
      pairs: [pair],
    } = judgeLines([line(a, b)], [], { settings, asOfMs });
    expectClose([pair!.distance_m, pair!.horizontal_m, pair!.azimuthDeg], [50, 50, 36.86989764584402], {
      within: 1e-9,
    });
    const { distance, settlement, tilt_mm_m, tiltPlusMinus_mm_m } = pair!.statement!;
    expect(distance.distinguishable && settlement.distinguishable).toBe(true);
    expect(Math.abs(distance.value_mm - 10)).toBeLessThan(distance.plusMinus_mm);
    expect(Math.abs(settlement.value_mm + 20)).toBeLessThan(settlement.plusMinus_mm);
    expectClose([tilt_mm_m!, tiltPlusMinus_mm_m!], [settlement.value_mm / 50, settlement.plusMinus_mm / 50], {
      within: 1e-12,
    });
  });

  test('of a steep pair settlement is part of the distance, and straight above each other there is no tilt', () => {
    const [a, b] = members(
      source(4),
      [
        [0, 0, 0],
        [0, 0, 40],
      ],
      [
        [0, 0, 0],
        [0, 0, -0.03],
      ],
    ) as [Member, Member];
    const { statement } = judgeLines([line(a, b)], [], { settings, asOfMs }).pairs[0]!;
    expectClose(statement!.distance.value_mm, statement!.settlement.value_mm, { within: 1e-9 });
    expect(statement!.tilt_mm_m).toBeUndefined();
  });

  test('the noise of the base is in neither figure: a wild base makes single stations worse, and the pair not', () => {
    const of = (base: number): { pair: number; single: number } => {
      const [a, b] = members(
        source(5),
        [
          [0, 0, 0],
          [50, 0, 0],
        ],
        [],
        base,
      ) as [Member, Member];
      const { statement } = judgeLines([line(a, b)], [], { settings, asOfMs }).pairs[0]!;
      const { judged } = presentOf({ reference, steps: [], settings, asOfMs }, a.known!.windows);
      return { pair: statement!.settlement.plusMinus_mm, single: Math.sqrt(judged!.displacement.uu) };
    };
    const [calm, wild] = [of(0.2), of(5)];
    expect(wild.single).toBeGreaterThan(3 * calm.single);
    expectClose(wild.pair / calm.pair, 1, { within: 1e-9 });
  });

  test('axes that are turned against each other are brought together first', () => {
    const [a, b] = members(
      source(3),
      [
        [0, 0, 0],
        [50, 0, 0],
      ],
      [
        [0, 0, 0],
        [0.02, 0, 0],
      ],
    ) as [Member, Member];
    // The second station tells its movements in axes turned by a right angle: its east is the first one's north.
    const own = b.known!.windows;
    const turned = {
      ...b,
      axes: [0, 1, 0, -1, 0, 0, 0, 0, 1],
      known: { ...b.known!, windows: { ...own, east: own.north, north: own.east.map((v) => -v) } },
    };
    const plain = judgeLines([line(a, b)], [], { settings, asOfMs }).pairs[0]!;
    expectClose(
      judgeLines([line(a, turned)], [], { settings, asOfMs }).pairs[0]!.statement,
      plain.statement,
      { within: 1e-6 },
    );
  });

  test(
    'of still stations at most 5 % are called moving against each other, and intervals hold the truth (Monte Carlo)',
    { timeout: 120_000 },
    () => {
      const random = source(6);
      const trials = 150;
      let [fired, missed] = [0, 0];
      for (let i = 0; i < trials; i++) {
        const { statement } = judgeLines(
          [
            line(
              ...members(random, [
                [0, 0, 0],
                [30, 20, 5],
              ]),
            ),
          ],
          [],
          { settings, asOfMs },
        ).pairs[0]!;
        for (const { p, value_mm, plusMinus_mm } of [statement!.distance, statement!.settlement]) {
          if (p < 0.05) fired++;
          if (Math.abs(value_mm) > plusMinus_mm) missed++;
        }
      }
      expect(fired).toBeLessThanOrEqual(mostOf(2 * trials, 0.05));
      expect(missed).toBeLessThanOrEqual(mostOf(2 * trials, 0.05));
      expect(fired).toBeGreaterThan(0);
    },
  );

  test('reference periods apart, and stations that are silent now, are said', () => {
    const [a, b] = members(source(7), [
      [0, 0, 0],
      [50, 0, 0],
    ]) as [Member, Member];
    const reason = (other: Member): string | undefined =>
      judgeLines([line(a, other)], [], { settings, asOfMs }).pairs[0]!.reason;
    expect(reason({ ...b, known: undefined as never })).toMatch(/no reference position of T2/);
    expect(
      reason({ ...b, known: { ...b.known!, reference: { fromMs: 25 * dayMs, toMs: 50 * dayMs } } }),
    ).toMatch(/less than a week in common/);
    const cut = (values: Float64Array): Float64Array => values.slice(0, 200);
    const { windows: w } = b.known!;
    const silent = { ...w, slot: cut(w.slot), east: cut(w.east), north: cut(w.north), up: cut(w.up) };
    expect(reason({ ...b, known: { ...b.known!, windows: silent } })).toMatch(/at present/);
  });
});

describe('angular distortion of a line', () => {
  const places = [
    [0, 0, 0],
    [20, 0, 0],
    [40, 0, 0],
    [60, 0, 0],
  ] as const;

  test('a rigid tilt is none; a sag in one station is, in the parts beside it', () => {
    const rigid = places.map(([x]) => [0, 0, -0.0005 * x] as const);
    const {
      profiles: [still],
    } = judgeLines([], [line(...members(source(8), places, rigid))], { settings, asOfMs });
    expect(still!.segments.some(({ distortion }) => distortion!.distinguishable)).toBe(false);
    // 20 mm of sag over 20 m: 1 mm in a metre, down and up again.
    const sag = [
      [0, 0, 0],
      [0, 0, -0.02],
      [0, 0, 0],
      [0, 0, 0],
    ] as const;
    const {
      profiles: [found],
    } = judgeLines([], [line(...members(source(8), places, sag))], { settings, asOfMs });
    const [first, second, third] = found!.segments as [ProfileSegment, ProfileSegment, ProfileSegment];
    expect(Math.abs(first.distortion_mm_m! + 1)).toBeLessThan(first.distortionPlusMinus_mm_m!);
    expect(Math.abs(second.distortion_mm_m! - 1)).toBeLessThan(second.distortionPlusMinus_mm_m!);
    expect(first.distortion!.distinguishable && second.distortion!.distinguishable).toBe(true);
    expect(third.distortion!.distinguishable).toBe(false);
  });
});
