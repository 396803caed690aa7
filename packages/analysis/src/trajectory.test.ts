import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import { studentFactor } from '@stillmark/estimation';
import { dayMs } from '@stillmark/records';
import { describe, expect, test } from 'vitest';
import type { KnownStep } from './series-model.ts';
import { trajectoryOf, type Trajectory } from './trajectory.ts';
import type { WindowSeries } from './windows.ts';

const first = Date.parse('2025-01-01T00:00:00Z') / dayMs;
const yearDays = 365.25;

/** Daily means in metres with planted velocity (mm a year), yearly wave and a step, a tenth missing. */
function planted(days: number, seed: number, more: { step?: number; wave?: number } = {}): WindowSeries {
  const random = source(seed);
  const noise = [1, 1, 2].map((size) => whitePlusFlicker(days, size, 0.4 * size, random));
  const kept = Array.from({ length: days }, (_, i) => i).filter((i) => i === 0 || random.uniform() > 0.1);
  const axis = (k: number, velocity: number): Float64Array =>
    Float64Array.from(kept, (day) => {
      const years = day / yearDays;
      const wave = (more.wave ?? 0) * Math.cos(2 * Math.PI * ((first + day + 0.5) / yearDays - 0.25));
      return (noise[k]![day]! + velocity * years + wave + (day >= 250 ? (more.step ?? 0) : 0)) / 1000;
    });
  const formal = new Float64Array(kept.length).fill(1e-3);
  return {
    windowMs: dayMs,
    slot: Float64Array.from(kept, (day) => first + day),
    epochs: new Int32Array(kept.length).fill(24),
    east: axis(0, 6),
    north: axis(1, -3),
    up: axis(2, -8),
    formal: { east: formal, north: formal, up: formal },
  };
}
const knock: KnownStep = { atMs: (first + 250) * dayMs, what: 'antenna knocked', kind: 'instrument' };
const velocity = ({ velocity: { movement: m } }: Trajectory): { of: number[]; half: number[] } => ({
  of: [m.east_mm, m.north_mm, m.up_mm],
  half: [
    studentFactor(0.95, m.horizontalFreedom) * Math.sqrt(m.ee),
    studentFactor(0.95, m.horizontalFreedom) * Math.sqrt(m.nn),
    studentFactor(0.95, m.upFreedom) * Math.sqrt(m.uu),
  ],
});

describe('the trajectory of a station', () => {
  test('velocities, wave and step come back inside their intervals, in 93 of 100 cases and more', () => {
    let held = 0;
    let cases = 0;
    for (let seed = 1; seed <= 20; seed++) {
      const t = trajectoryOf(planted(800, seed, { step: 9, wave: 2 }), [knock], 0.95)!;
      const { of, half } = velocity(t);
      [6, -3, -8].forEach((truth, k) => {
        cases++;
        if (Math.abs(of[k]! - truth) <= half[k]!) held++;
      });
      const [step] = t.steps;
      expect(t.steps.length).toBe(1);
      for (const axis of ['east', 'north', 'up'] as const) {
        cases += 2;
        if (Math.abs(step![`${axis}_mm`] - 9) <= step![`${axis}PlusMinus_mm`]) held++;
        const { amplitude_mm, plusMinus_mm } = t.annual![axis];
        if (Math.abs(amplitude_mm - 2) <= plusMinus_mm) held++;
      }
    }
    // Two standard deviations of a share of 95 % in 180 cases are 3.2 %.
    expect(held / cases).toBeGreaterThan(0.918);
  });

  test('the wave is highest when it was planted to be: at the end of March', () => {
    const { annual } = trajectoryOf(planted(1100, 3, { wave: 6 }), [], 0.95)!;
    // A quarter of a year after each New Year of the 365.25-day calendar that counts from 1970.
    expect(Math.abs(annual!.east.peakDay - 91)).toBeLessThan(12);
  });

  test('before a year nothing is said of seasons; before two months, and of a mostly empty span, nothing at all', () => {
    expect(trajectoryOf(planted(300, 4), [], 0.95)!.annual).toBeUndefined();
    expect(trajectoryOf(planted(59, 4), [], 0.95)).toBeUndefined();
    const sparse = planted(300, 4);
    const few = { ...sparse, slot: sparse.slot.map((slot, i) => (i < 20 ? slot : slot + 900)) };
    expect(trajectoryOf(few, [], 0.95)).toBeUndefined();
    const empty = planted(1, 4);
    expect(trajectoryOf({ ...empty, slot: new Float64Array(0) }, [], 0.95)).toBeUndefined();
  });

  test('events outside the data, twice at one time, and constant positions end in no figure or a sound one, never in NaN', () => {
    const outside = { ...knock, atMs: (first - 10) * dayMs };
    expect(trajectoryOf(planted(200, 5), [outside], 0.95)!.steps).toEqual([]);
    // What two events of one time did cannot be told apart: they are one step.
    expect(trajectoryOf(planted(400, 5), [knock, knock], 0.95)!.steps).toHaveLength(1);
    const still = planted(200, 6);
    const flat = new Float64Array(still.slot.length);
    expect(trajectoryOf({ ...still, east: flat, north: flat, up: flat }, [], 0.95)).toBeUndefined();
  });

  test('changes that no event names are proposed with their kind and time, and stand in no figure', () => {
    const stepped = trajectoryOf(planted(500, 7, { step: 9 }), [], 0.95)!;
    const [step] = stepped.changes;
    expect(step).toMatchObject({ kind: 'step' });
    expect(Math.abs(Date.parse(step!.at) / dayMs - (first + 250))).toBeLessThanOrEqual(4);
    expect(Math.abs(step!.east_mm - 9)).toBeLessThan(1.5 * step!.eastPlusMinus_mm);
    expect(stepped.steps).toEqual([]);
    // Named, it is proposed no more.
    expect(trajectoryOf(planted(500, 7, { step: 9 }), [knock], 0.95)!.changes).toEqual([]);

    const series = planted(500, 8);
    const faster = series.slot.map((slot) => Math.max(0, slot - first - 300) * 1e-4);
    const bent = trajectoryOf({ ...series, east: series.east.map((v, i) => v + faster[i]!) }, [], 0.95)!;
    expect(bent.changes).toMatchObject([{ kind: 'rate' }]);
    expect(Math.abs(Date.parse(bent.changes[0]!.at) / dayMs - (first + 300))).toBeLessThan(40);
    expect(Math.abs(bent.changes[0]!.east_mm - 36.5)).toBeLessThan(1.5 * bent.changes[0]!.eastPlusMinus_mm);
  });

  test('of 40 series without a change at most one is given one', () => {
    let proposed = 0;
    for (let seed = 101; seed <= 140; seed++)
      if (trajectoryOf(planted(240, seed), [], 0.95)!.changes.length > 0) proposed++;
    expect(proposed).toBeLessThanOrEqual(1);
  }, 60_000);

  test('a step that is no movement does not bend the robust velocity, a structural one counts', () => {
    const series = planted(500, 7, { step: 40 });
    const tied = trajectoryOf(series, [knock], 0.95)!.robust!;
    expect(Math.abs(tied.east_mm - 6)).toBeLessThan(3 * tied.eastError_mm);
    const moved = trajectoryOf(series, [{ ...knock, kind: 'structural' }], 0.95)!.robust!;
    expect(moved.east_mm).toBeGreaterThan(20);
  });
});

describe('movement that relaxes after an event', () => {
  const event = { atMs: (first + 150) * dayMs, what: 'first filling', kind: 'note', creep: true } as const;
  const of = (seed: number, size: number): Trajectory => {
    const windows = planted(500, seed);
    const relax = (slot: number): number =>
      slot < first + 150 ? 0 : size * -Math.expm1(-(slot - first - 150) / 60);
    return trajectoryOf(
      { ...windows, up: windows.up.map((v, i) => v + relax(windows.slot[i]!)) },
      [event],
      0.95,
      false,
    )!;
  };

  test('is found with its size, and the velocity is that of the line beside it', () => {
    const { creeps, velocity, steps } = of(3, -0.02);
    expect(steps).toEqual([]);
    expect(creeps).toMatchObject([{ what: 'first filling' }]);
    const [{ up, east }] = creeps as [(typeof creeps)[number]];
    expect(Math.abs(up.value_mm + 20)).toBeLessThan(up.plusMinus_mm);
    expect(up.value_mm).toBeLessThan(-5);
    expect(Math.abs(east.value_mm)).toBeLessThan(1.5 * east.plusMinus_mm);
    // 8 mm a year downward are planted beside it.
    expect(Math.abs(velocity.movement.up_mm + 8)).toBeLessThan(3.5 * Math.sqrt(velocity.movement.uu));
  });

  test('of stations that do not relax none is said to, and nothing is tried after events that do not ask for it', () => {
    let chosen = 0;
    for (let seed = 1; seed <= 25; seed++) chosen += of(seed, 0).creeps.length;
    expect(chosen).toBeLessThanOrEqual(1);
    const windows = planted(500, 3);
    expect(trajectoryOf(windows, [{ ...event, creep: false }], 0.95, false)!.creeps).toEqual([]);
  });
});
