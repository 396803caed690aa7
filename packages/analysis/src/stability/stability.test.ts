import { source, whitePlusFlicker, type Source } from '@stillmark/data/synthetic/noise.ts';
import { dayMs, type StabilityRecord, type StatementSettings } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import { baseNetwork, type BaseVector } from './base-network.ts';
import { stabilityOf } from './stability.ts';

const hour = 3_600_000;
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 6 * hour,
  statementMs: 24 * hour,
  rateMs: 30 * dayMs,
};
const level = [1, 0, 0, 0, 1, 0, 0, 0, 1];
const reference = { fromMs: 0, toMs: 28 * dayMs };

/** Vectors from the first two bases to all others; antennas have white noise of 1.4 mm and flicker of 0.35 mm a window (up twice that). */
function vectorsOf(
  random: Source,
  names: readonly string[],
  days: number,
  moved: (id: string, day: number) => readonly [number, number, number] = () => [0, 0, 0],
): BaseVector[] {
  const n = 4 * days;
  const antenna = new Map(
    names.map(
      (id) => [id, [1, 1, 2].map((size) => whitePlusFlicker(n, 1.4 * size, 0.35 * size, random))] as const,
    ),
  );
  return names.slice(0, 2).flatMap((from) =>
    names.flatMap((to): BaseVector[] => {
      if (to === from) return [];
      const column = (a: number): Float64Array =>
        Float64Array.from({ length: n }, (_, i) => {
          const of = (id: string): number => antenna.get(id)![a]![i]! + moved(id, i / 4)[a]!;
          return (of(to) - of(from)) / 1000;
        });
      const formal = new Float64Array(n);
      return [
        {
          from,
          to,
          axes: level,
          reference,
          steps: [],
          windows: {
            windowMs: 6 * hour,
            slot: Float64Array.from({ length: n }, (_, i) => i),
            epochs: new Int32Array(n).fill(6),
            east: column(0),
            north: column(1),
            up: column(2),
            formal: { east: formal, north: formal, up: formal },
          },
        },
      ];
    }),
  );
}

function stability(
  random: Source,
  names: readonly string[],
  days: number,
  moved?: Parameters<typeof vectorsOf>[3],
): StabilityRecord {
  const network = baseNetwork(vectorsOf(random, names, days, moved), names, days * dayMs, 2 * dayMs);
  return stabilityOf({ network, settings, asOfMs: days * dayMs });
}
const step =
  (who: string, at: number, size: readonly [number, number, number]) =>
  (id: string, day: number): readonly [number, number, number] =>
    id === who && day >= at ? size : [0, 0, 0];

describe('the bases among each other', () => {
  test('a base that moved 8 mm is named and dated, the others are not, and its movement is told in their datum', () => {
    const found = stability(source(3), ['B1', 'B2', 'B3'], 100, step('B2', 70, [6, -5, 0]));
    expect(found.finding).toMatchObject({ kind: 'moving', moving: [{ id: 'B2' }] });
    const since = found.finding.kind === 'moving' ? found.finding.moving[0]!.since : '';
    expect(Math.abs(Date.parse(since) / dayMs - 70)).toBeLessThan(5);
    const b2 = found.movements.find(({ id }) => id === 'B2')!;
    expect(b2.stable).toBe(false);
    expect(Math.hypot(b2.east_mm - 6, b2.north_mm + 5)).toBeLessThan(1.5 * b2.horizontal.plusMinus_mm);
    for (const id of ['B1', 'B3'])
      expect(found.movements.find((m) => m.id === id)!.horizontal.distinguishable).toBe(false);
  });

  test('with two bases a movement is seen, and none is named', () => {
    const found = stability(source(4), ['B1', 'B2'], 100, step('B2', 60, [10, 0, 0]));
    expect(found.finding).toMatchObject({ kind: 'unclear' });
    expect(found.days.every(({ accused }) => accused.length === 0)).toBe(true);
  });

  test('two of five that move differently are both named; two of four are not singled out', () => {
    const two = (id: string, day: number): readonly [number, number, number] =>
      day < 60 ? [0, 0, 0] : id === 'B2' ? [12, 0, 0] : id === 'B4' ? [0, -11, 6] : [0, 0, 0];
    const five = stability(source(5), ['B1', 'B2', 'B3', 'B4', 'B5'], 90, two);
    expect(five.finding).toMatchObject({ kind: 'moving', moving: [{ id: 'B2' }, { id: 'B4' }] });
    expect(stability(source(5), ['B1', 'B2', 'B3', 'B4'], 90, two).finding).toMatchObject({
      kind: 'unclear',
    });
  });

  test('a step yesterday is only watched', () => {
    expect(stability(source(6), ['B1', 'B2', 'B3'], 60, step('B3', 58, [15, 0, 0])).finding.kind).toBe(
      'watch',
    );
  });

  test('a base that sends nothing is left out, and said', () => {
    const vectors = vectorsOf(source(7), ['B1', 'B2', 'B3'], 60);
    const cut = vectors.map((v) => {
      if (v.to !== 'B3') return v;
      const end = (values: Float64Array): Float64Array => values.slice(0, 180);
      return {
        ...v,
        windows: {
          ...v.windows,
          slot: end(v.windows.slot),
          east: end(v.windows.east),
          north: end(v.windows.north),
          up: end(v.windows.up),
        },
      };
    });
    const network = baseNetwork(cut, ['B1', 'B2', 'B3'], 60 * dayMs, 2 * dayMs);
    expect(network).toMatchObject({ bases: ['B1', 'B2'], left: [{ id: 'B3', why: 'silent at present' }] });
    expect(() => baseNetwork([], ['B1'], 60 * dayMs, 2 * dayMs)).toThrow(/fewer than two bases/);
    const apart = vectors.map((v) =>
      v.to === 'B3' ? { ...v, reference: { fromMs: 30 * dayMs, toMs: 50 * dayMs } } : v,
    );
    expect(baseNetwork(apart, ['B1', 'B2', 'B3'], 60 * dayMs, 2 * dayMs).left).toEqual([
      { id: 'B3', why: 'its reference period has less than a week in common with those of the others' },
    ]);
  });
});

describe('networks that change', () => {
  test('a base that is added later does not take the test from the others', () => {
    const names = ['B1', 'B2', 'B3', 'B4'];
    const moved = step('B2', 80, [12, 0, 0]);
    for (const days of [120, 170]) {
      const vectors = vectorsOf(source(21), names, days, moved).map((v) => {
        if (v.to !== 'B4') return v;
        const end = (values: Float64Array): Float64Array => values.slice(240);
        const { slot, east, north, up } = v.windows;
        return {
          ...v,
          reference: { fromMs: 61 * dayMs, toMs: 89 * dayMs },
          windows: { ...v.windows, slot: end(slot), east: end(east), north: end(north), up: end(up) },
        };
      });
      const network = baseNetwork(vectors, names, days * dayMs, 2 * dayMs);
      expect(network.bases).toEqual(['B1', 'B2', 'B3']);
      expect(stabilityOf({ network, settings, asOfMs: days * dayMs }).finding).toMatchObject({
        kind: 'moving',
        moving: [{ id: 'B2' }],
      });
    }
  });

  test('a step that is tied is taken off the series too, and movements are of the day that was tested', () => {
    const vectors = vectorsOf(source(22), ['B1', 'B2', 'B3'], 80, step('B2', 50, [30, 0, 0])).map((v) =>
      v.from === 'B2' || v.to === 'B2'
        ? { ...v, steps: [{ atMs: 50 * dayMs, what: 'antenna exchanged' }] }
        : v,
    );
    const network = baseNetwork(vectors, ['B1', 'B2', 'B3'], 80 * dayMs, 2 * dayMs);
    // As of a day and a half after the last mean.
    const found = stabilityOf({ network, settings, asOfMs: 81.5 * dayMs });
    expect(found.finding.kind).toBe('congruent');
    expect(found.movements).toHaveLength(3);
    const { east_mm } = found.series.find(({ id }) => id === 'B2')!;
    expect(Math.max(...east_mm.map(Math.abs))).toBeLessThan(8);
  });
});

describe('a year of still bases (Monte Carlo)', () => {
  test(
    'a still base is accused in few of many years, and a slide of 0.2 mm a day is found within weeks',
    { timeout: 300_000 },
    () => {
      const random = source(9);
      const years = 12;
      let [accused, wrong, right] = [0, 0, 0];
      const delays: number[] = [];
      for (let i = 0; i < years; i++) {
        const days = lastingDays(stability(random, ['B1', 'B2', 'B3'], 200));
        if (days > 0) accused++;
        const slide = stability(random, ['B1', 'B2', 'B3'], 160, (id, day) =>
          id === 'B1' ? [0.2 * Math.max(0, day - 60), 0, 0] : [0, 0, 0],
        );
        const first = slide.days.findIndex(
          (_, k) => k >= 3 && slide.days.slice(k - 3, k + 1).every((d) => d.accused.includes('B1')),
        );
        if (first >= 0) {
          right++;
          delays.push(Date.parse(slide.days[first]!.at) / dayMs - 60);
        }
        if (slide.days.some(({ accused: named }) => named.includes('B2') || named.includes('B3'))) wrong++;
      }
      // Twelve times 172 days of three bases: one accusation would already be more than one in a hundred base-years.
      expect(accused).toBeLessThanOrEqual(1);
      expect(right).toBe(years);
      expect(wrong).toBeLessThanOrEqual(2);
      expect(delays.sort((a, b) => a - b)[Math.floor(years / 2)]!).toBeLessThan(60);
    },
  );
});

/** Days on which some base has been named for four in a row. */
function lastingDays({ days, bases }: StabilityRecord): number {
  return days.filter(
    (_, k) => k >= 3 && bases.some((id) => days.slice(k - 3, k + 1).every((d) => d.accused.includes(id))),
  ).length;
}
