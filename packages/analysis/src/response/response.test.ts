import { source, whitePlusFlicker, type Source } from '@stillmark/data/synthetic/noise.ts';
import { dayMs, type ReadingSeries, type StatementSettings } from '@stillmark/records';
import { mostOf } from '@stillmark/tooling/chance';
import { expectClose } from '@stillmark/tooling/close';
import { describe, expect, test } from 'vitest';
import { presentOf } from '../present.ts';
import type { WindowSeries } from '../windows.ts';
import { AppliedResponse } from './apply.ts';
import { covariateMeans, type Covariate } from './covariate.ts';
import { dailyWaves } from './daily-waves.ts';
import { fitResponse, type ResponseTask } from './fit.ts';
import { heightDependence } from './height-dependence.ts';

const hour = 3_600_000;
const first = Date.parse('2025-01-01T00:00:00Z');
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 6 * hour,
  statementMs: 24 * hour,
  rateMs: 30 * dayMs,
};

/** A log of warmth every hour: season, day, and weather that lasts some days. */
function warmth(days: number, random: Source): ReadingSeries {
  let weather = 0;
  const n = 24 * days;
  const timesMs = Float64Array.from({ length: n }, (_, i) => first + i * hour);
  const values = timesMs.map((ms) => {
    weather = 0.985 * weather + 0.5 * random.normal();
    const year = (2 * Math.PI * (ms - first)) / (365.25 * dayMs);
    return 9 - 8 * Math.cos(year) + 4 * Math.sin((2 * Math.PI * ms) / dayMs) + weather;
  });
  return { timesMs, values };
}

/** A reservoir that is filled from day 60 to 120, drawn down from 180 to 260, and so on each year. */
function level(days: number): ReadingSeries {
  const timesMs = Float64Array.from({ length: 4 * days }, (_, i) => first + 6 * i * hour);
  const ramp = (day: number, from: number, to: number): number =>
    Math.min(1, Math.max(0, (day - from) / (to - from)));
  const values = timesMs.map((ms) => {
    const day = ((ms - first) / dayMs) % 365;
    return 280 + 12 * (ramp(day, 60, 120) - ramp(day, 180, 260));
  });
  return { timesMs, values };
}

interface Planted {
  readonly days: number;
  readonly perDay: number;
  readonly velocity?: number;
  /** Metres for a degree, after a lag of two days, in east; for a metre of water in up. */
  readonly warm?: number;
  readonly water?: number;
}

/** Means in metres, white 2 mm and flicker 0.7 mm a day. */
function means(
  { days, perDay, velocity = 0, warm = 0, water = 0 }: Planted,
  logs: readonly ReadingSeries[],
  random: Source,
): WindowSeries {
  const windowMs = dayMs / perDay;
  const n = days * perDay;
  const slot = Float64Array.from({ length: n }, (_, i) => first / windowMs + i).filter(
    (_, i) => i < 2 || random.uniform() > 0.05,
  );
  const centres = slot.map((s) => (s + 0.5) * windowMs);
  const [temperature, reservoir] = logs.map((log, k) =>
    covariateMeans(log, centres, dayMs, k === 0 ? 2 * dayMs : 0),
  ) as [Float64Array, Float64Array];
  const noise = (): Float64Array => whitePlusFlicker(n, 0.002, 0.0007 / perDay ** 0.25, random);
  const [e, no, u] = [noise(), noise(), noise()];
  const at = (i: number): number => slot[i]! - first / windowMs;
  const known = (v: number): number => (Number.isNaN(v) ? 0 : v);
  const formal = slot.map(() => 0.0004);
  return {
    windowMs,
    slot,
    epochs: new Int32Array(slot.length).fill(24 / perDay),
    east: slot.map(
      (_, i) => e[at(i)]! + warm * known(temperature[i]!) + (velocity * at(i)) / perDay / 365.25,
    ),
    north: slot.map((_, i) => no[at(i)]!),
    up: slot.map((_, i) => u[at(i)]! + water * known(reservoir[i]!)),
    formal: { east: formal, north: formal, up: formal },
  };
}

function covariatesOf(logs: readonly ReadingSeries[]): Covariate[] {
  return [
    { sensor: 'air', what: 'air temperature', unit: '°C', readings: logs[0]!, longestLagMs: 6 * dayMs },
    { sensor: 'water', what: 'reservoir level', unit: 'm', readings: logs[1]!, longestLagMs: 0 },
  ];
}

const taskOf = (windows: WindowSeries, logs: readonly ReadingSeries[], days: number): ResponseTask => ({
  windows,
  events: [],
  covariates: covariatesOf(logs),
  fromMs: first,
  toMs: first + days * dayMs,
  seasons: false,
  confidence: 0.95,
});

describe('means of a log', () => {
  const log = {
    timesMs: Float64Array.from({ length: 96 }, (_, i) => first + i * hour),
    values: Float64Array.from({ length: 96 }, (_, i) => i),
  };
  test('are those of its readings in the span, earlier by the lag', () => {
    const centre = Float64Array.of(first + 2.5 * dayMs);
    expectClose([...covariateMeans(log, centre, dayMs)], [59.5], { within: 1e-12 });
    expectClose([...covariateMeans(log, centre, dayMs, 12 * hour)], [47.5], { within: 1e-12 });
  });
  test('are not there where half of the readings are missing, or the log has not begun', () => {
    const torn = {
      timesMs: log.timesMs.filter((_, i) => i < 48 || i > 62),
      values: log.values.filter((_, i) => i < 48 || i > 62),
    };
    const centres = Float64Array.of(first - dayMs, first + 1.5 * dayMs, first + 2.5 * dayMs);
    expect([...covariateMeans(torn, centres, dayMs)].map(Number.isNaN)).toEqual([true, false, true]);
    expect(
      covariateMeans({ timesMs: Float64Array.of(first), values: Float64Array.of(1) }, centres, dayMs)[0],
    ).toBeNaN();
  });
  test('at the end of a log there is none: it would lean to one side of the day', () => {
    const end = Float64Array.of(first + 3.5 * dayMs, first + 3.7 * dayMs);
    const [inside, beyond] = covariateMeans(log, end, dayMs);
    expect(inside).toBeCloseTo(83.5, 9);
    expect(beyond).toBeNaN();
  });
  test('of a log that is read more often later on the rarer part keeps its means', () => {
    const rare = Array.from({ length: 30 }, (_, d) => first + d * dayMs);
    const often = Array.from({ length: 240 }, (_, h) => first + 30 * dayMs + h * hour);
    const timesMs = Float64Array.from([...rare, ...often]);
    const mixed = { timesMs, values: timesMs.map((ms) => (ms - first) / dayMs) };
    const values = covariateMeans(mixed, Float64Array.of(first + 10.5 * dayMs, first + 35.5 * dayMs), dayMs);
    expectClose(values[0]!, 10.5, { within: 1e-9 });
    expectClose(values[1]!, 35.5, { within: 0.05 });
  });
  test('of a log that is rarer than the spans lie on the line between two readings, not across a gap', () => {
    const rare = {
      timesMs: Float64Array.from([0, 2, 4, 6, 8, 20], (d) => first + d * dayMs),
      values: Float64Array.of(0, 2, 4, 6, 8, 20),
    };
    const values = covariateMeans(
      rare,
      Float64Array.from([3, 7.5, 14], (d) => first + d * dayMs),
      dayMs,
    );
    expectClose([...values.subarray(0, 2)], [3, 7.5], { within: 1e-12 });
    expect(values[2]).toBeNaN();
  });
});

describe('response to logs', () => {
  const logs = [warmth(500, source(2)), level(500)];

  test('planted coefficients, the lag and the velocity are found; what nothing explains stays', () => {
    const { record, model } = fitResponse(
      taskOf(
        means({ days: 400, perDay: 1, velocity: 0.01, warm: 0.0006, water: 0.0004 }, logs, source(4)),
        logs,
        400,
      ),
    );
    const [air, water] = record.covariates as [
      (typeof record.covariates)[number],
      (typeof record.covariates)[number],
    ];
    expect(air.lagMs).toBe(2 * dayMs);
    expect(air.lagLowMs).toBeGreaterThanOrEqual(dayMs);
    expect(air.lagHighMs).toBeLessThanOrEqual(3 * dayMs);
    expect(Math.abs(air.east.value_mm - 0.6)).toBeLessThan(air.east.plusMinus_mm);
    expect(air.east.plusMinus_mm).toBeLessThan(0.15);
    expect(Math.abs(water.up.value_mm - 0.4)).toBeLessThan(water.up.plusMinus_mm);
    expect(Math.abs(air.north.value_mm)).toBeLessThan(1.5 * air.north.plusMinus_mm);
    expect(air.east.share).toBeGreaterThan(0.15);
    expect(air.north.share).toBeLessThan(0.03);
    expect(record.band.east.after_mm).toBeLessThan(0.8 * record.band.east.before_mm);
    expect(record.band.north.after_mm).toBeGreaterThan(0.95 * record.band.north.before_mm);
    expect(record.checks.every(({ verdict }) => verdict === 'pass')).toBe(true);
    expect(model.covariance.east.length).toBe(4);
  });

  test('a level that only rises cannot be told from creep, and the check says so', () => {
    const rising = {
      timesMs: logs[1]!.timesMs,
      values: logs[1]!.timesMs.map((ms) => (ms - first) / dayMs / 30 + 0.02 * Math.sin(ms / dayMs)),
    };
    const { record } = fitResponse({
      ...taskOf(means({ days: 60, perDay: 1, water: 0.001 }, logs, source(5)), [logs[0]!, rising], 60),
    });
    const check = record.checks.find(({ check, of }) => check === 'confounding' && of === 'reservoir level')!;
    expect(check).toMatchObject({ verdict: 'not yet' });
    expect(check.value).toBeGreaterThan(0.95);
  });

  test('a log that never varies, that is missing, and logs that are copies of each other are refused with the reason', () => {
    const windows = means({ days: 60, perDay: 1 }, logs, source(6));
    const constant = { timesMs: logs[1]!.timesMs, values: logs[1]!.values.map(() => 280) };
    expect(() => fitResponse(taskOf(windows, [logs[0]!, constant], 60))).toThrow(
      /reservoir level does not vary/,
    );
    const later = { timesMs: logs[1]!.timesMs.map((ms) => ms + 900 * dayMs), values: logs[1]!.values };
    expect(() => fitResponse(taskOf(windows, [logs[0]!, later], 60))).toThrow(/reservoir level: 0/);
    const copies = covariatesOf([logs[0]!, logs[0]!]).map((c) => ({ ...c, longestLagMs: 0 }));
    expect(() => fitResponse({ ...taskOf(windows, logs, 60), covariates: copies })).toThrow(
      /cannot be told apart/,
    );
  });

  test(
    '95 % intervals of coefficients hold the truth in about 95 % of cases (Monte Carlo)',
    { timeout: 240_000 },
    () => {
      const random = source(8);
      const trials = 150;
      let [held, all] = [0, 0];
      for (let i = 0; i < trials; i++) {
        const windows = means(
          { days: 200, perDay: 1, velocity: 0.005, warm: 0.0003, water: 0.0004 },
          logs,
          random,
        );
        const task = taskOf(windows, logs, 200);
        const { covariates } = fitResponse({
          ...task,
          covariates: task.covariates.map((c) => ({ ...c, longestLagMs: 0 })),
        }).record;
        // Lag 0 is not the planted one: of warmth only north and up, where nothing is planted, are asked.
        for (const [value, plusMinus, truth] of [
          [covariates[0]!.north.value_mm, covariates[0]!.north.plusMinus_mm, 0],
          [covariates[0]!.up.value_mm, covariates[0]!.up.plusMinus_mm, 0],
          [covariates[1]!.up.value_mm, covariates[1]!.up.plusMinus_mm, 0.4],
        ] as const) {
          all++;
          if (Math.abs(value - truth) <= plusMinus) held++;
        }
      }
      expect(all - held).toBeLessThanOrEqual(mostOf(all, 0.05));
      expect(all - held).toBeGreaterThan(0.01 * all);
    },
  );
});

describe('a committed response taken off', () => {
  const logs = [warmth(500, source(2)), level(500)];
  const reference = { fromMs: first + 10 * dayMs, toMs: first + 38 * dayMs };

  /** Response of the first year, displacement on day 470 less it. */
  function corrected(
    random: Source,
    planted: Planted,
  ): {
    d: ReturnType<typeof presentOf>['judged'];
    raw: ReturnType<typeof presentOf>['judged'];
    extrapolated: boolean[];
  } {
    const windows = means(planted, logs, random);
    const centred = (values: Float64Array): Float64Array => {
      const inside = values.filter((_, i) => {
        const ms = windows.slot[i]! * windows.windowMs;
        return ms >= reference.fromMs && ms + windows.windowMs <= reference.toMs;
      });
      const mean = inside.reduce((s, v) => s + v, 0) / inside.length;
      return values.map((v) => v - mean);
    };
    const local = {
      ...windows,
      east: centred(windows.east),
      north: centred(windows.north),
      up: centred(windows.up),
    };
    const daily = dailyOf(windows);
    const { model } = fitResponse(taskOf(daily, logs, 365));
    const applied = new AppliedResponse(local, reference, model, covariatesOf(logs));
    const task = { reference, steps: [], settings, asOfMs: first + planted.days * dayMs };
    const present = presentOf({ ...task, adjust: applied.adjustment() }, applied.windows);
    return {
      d: present.judged,
      raw: presentOf(task, local).judged,
      extrapolated: applied.today(present.now, covariatesOf(logs)).map((t) => t.extrapolated),
    };
  }

  function dailyOf(windows: WindowSeries): WindowSeries {
    const days = new Map<number, number[]>();
    windows.slot.forEach((slot, i) => {
      const day = Math.floor((slot * windows.windowMs) / dayMs);
      days.set(day, [...(days.get(day) ?? []), i]);
    });
    const rows = [...days];
    const mean = (values: Float64Array): Float64Array =>
      Float64Array.from(rows, ([, own]) => own.reduce((s, i) => s + values[i]!, 0) / own.length);
    const formal = new Float64Array(rows.length).fill(0.0002);
    return {
      windowMs: dayMs,
      slot: Float64Array.from(rows, ([day]) => day),
      epochs: Int32Array.from(rows, ([, own]) => own.length),
      east: mean(windows.east),
      north: mean(windows.north),
      up: mean(windows.up),
      formal: { east: formal, north: formal, up: formal },
    };
  }

  test(
    'intervals hold the truth, and what logs do is not called movement (Monte Carlo)',
    { timeout: 300_000 },
    () => {
      const random = source(12);
      const trials = 60;
      let [missed, rawMissed] = [0, 0];
      for (let i = 0; i < trials; i++) {
        const { d, raw } = corrected(random, { days: 470, perDay: 4, warm: 0.0006, water: 0.0008 });
        const half = (m: NonNullable<typeof d>['displacement']): number => 2.2 * Math.sqrt(m.uu);
        if (Math.abs(d!.displacement.up_mm) > half(d!.displacement)) missed++;
        if (Math.abs(raw!.displacement.up_mm) > half(raw!.displacement)) rawMissed++;
      }
      expect(missed).toBeLessThanOrEqual(mostOf(trials, 0.05));
      // The water stands 9 mm of response above its level in the reference period: without the model that is a movement.
      expect(rawMissed).toBeGreaterThan(0.5 * trials);
    },
  );

  test('a log outside its range of training is said to be extrapolated', () => {
    const inside = corrected(source(13), { days: 470, perDay: 4 });
    expect(inside.extrapolated).toEqual([false, false]);
    const windows = means({ days: 470, perDay: 4 }, logs, source(13));
    const { model } = fitResponse(taskOf(dailyOf(windows), logs, 80));
    const applied = new AppliedResponse(windows, reference, model, covariatesOf(logs));
    const n = applied.windows.slot.length;
    expect(applied.today({ from: n - 4, to: n }, covariatesOf(logs))[1]).toMatchObject({
      extrapolated: true,
    });
  });

  test('logs that do not cover the reference period are refused', () => {
    const windows = means({ days: 100, perDay: 4 }, logs, source(14));
    const { model } = fitResponse(taskOf(dailyOf(windows), logs, 90));
    const cut = logs.map(({ timesMs, values }) => ({
      timesMs: timesMs.filter((ms) => ms > first + 60 * dayMs),
      values: values.slice(-timesMs.filter((ms) => ms > first + 60 * dayMs).length),
    }));
    expect(() => new AppliedResponse(windows, reference, model, covariatesOf(cut))).toThrow(
      /do not cover the reference period/,
    );
    expect(() => new AppliedResponse(windows, reference, model, [])).toThrow(
      /air of the committed response is not there/,
    );
  });
});

describe('waves of the day and of the tide', () => {
  const still = (days: number, random: Source, wave?: (ms: number) => number): WindowSeries => {
    const n = 24 * days;
    const axis = (): Float64Array => whitePlusFlicker(n, 0.003, 0.0005, random);
    const formal = new Float64Array(n);
    return {
      windowMs: hour,
      slot: Float64Array.from({ length: n }, (_, i) => first / hour + i),
      epochs: new Int32Array(n).fill(1),
      east: axis(),
      north: axis(),
      up: axis().map((v, i) => v + (wave?.(first + (i + 0.5) * hour) ?? 0)),
      formal: { east: formal, north: formal, up: formal },
    };
  };

  test('a half-day of the moon and one of the sun are found beside each other, with their times', () => {
    const m2 = (360 / 28.984_104_2) * hour;
    const windows = still(
      120,
      source(21),
      (ms) =>
        0.003 * Math.cos((2 * Math.PI * (ms - 3 * hour)) / m2) +
        0.002 * Math.cos((2 * Math.PI * (ms - 2 * hour)) / (12 * hour)),
    );
    const waves = dailyWaves(windows, true, 0.95)!;
    const of = (name: string): (typeof waves)[number] => waves.find((w) => w.name === name)!;
    expect(Math.abs(of('M2').up.amplitude_mm - 3)).toBeLessThan(of('M2').up.plusMinus_mm);
    expect(Math.abs(of('S2').up.amplitude_mm - 2)).toBeLessThan(of('S2').up.plusMinus_mm);
    expect(of('M2').up.plusMinus_mm).toBeLessThan(1);
    expectClose(of('S2').up.peakMs / hour, 2, { within: 0.5 });
    expect(of('M2').up.p).toBeLessThan(0.001);
  });

  test('of still stations a wave is found in at most 5 % of cases (Monte Carlo)', () => {
    const random = source(22);
    let [fired, all] = [0, 0];
    for (let i = 0; i < 40; i++)
      for (const { east, north, up } of dailyWaves(still(45, random), false, 0.95)!)
        for (const { p } of [east, north, up]) {
          all++;
          if (p < 0.05) fired++;
        }
    expect(fired).toBeLessThanOrEqual(mostOf(all, 0.05));
    expect(fired).toBeGreaterThan(0);
  });

  test('fewer than four blocks say nothing', () => {
    expect(dailyWaves(still(10, source(1)), false, 0.95)).toBeUndefined();
    expect(dailyWaves(still(50, source(1)), true, 0.95)).toBeUndefined();
  });
});

describe('up against height above the base', () => {
  const stations = (random: Source, delay: number): Parameters<typeof heightDependence>[0]['stations'] =>
    [10, 60, 110, 160, 210, 260].map((height) => {
      const plain = means({ days: 400, perDay: 1 }, [warmth(400, source(1)), level(400)], random);
      const year = (slot: number): number => Math.cos((2 * Math.PI * slot) / 365.25);
      return {
        height,
        events: [],
        daily: { ...plain, up: plain.up.map((v, i) => v + (height / 100) * delay * year(plain.slot[i]!)) },
      };
    });

  test('a yearly delay of 3 mm in 100 m is found, and none where none is', () => {
    const found = heightDependence({ stream: 's', stations: stations(source(31), 0.003), confidence: 0.95 })!;
    expect(found).toMatchObject({ stations: 6, heightSpan_m: 250 });
    expect(Math.abs(found.annual!.amplitude_mm - 3)).toBeLessThan(found.annual!.plusMinus_mm);
    expect(found.scatter_mm).toBeGreaterThan(1.5 * found.expected_mm);
    const none = heightDependence({ stream: 's', stations: stations(source(32), 0), confidence: 0.95 })!;
    expect(none.annual!.amplitude_mm).toBeLessThan(1.5 * none.annual!.plusMinus_mm);
    expectClose(none.scatter_mm / none.expected_mm, 1, { within: 0.2 });
  });

  test('stations of one height, or too few, say nothing', () => {
    const all = stations(source(33), 0);
    expect(heightDependence({ stream: 's', stations: all.slice(0, 4), confidence: 0.95 })).toBeUndefined();
    const level_ = all.map((s) => ({ ...s, height: 10 }));
    expect(heightDependence({ stream: 's', stations: level_, confidence: 0.95 })).toBeUndefined();
  });
});

describe('means of other lengths than those that were learnt from', () => {
  const tide = (ms: number): number => Math.sin((2 * Math.PI * (ms - first)) / (12.42 * hour));
  const timesMs = Float64Array.from({ length: 6 * 24 * 60 }, (_, i) => first + (i + 0.5) * 10 * 60_000);
  const log: ReadingSeries = { timesMs, values: timesMs.map(tide) };
  const covariate = { sensor: 'tide', what: 'tide', unit: 'm', readings: log, longestLagMs: 0 };
  /** Means of a station that follows the tide by 3 cm a metre, in up. */
  const following = (windowMs: number): WindowSeries => {
    const slot = Float64Array.from({ length: (60 * dayMs) / windowMs }, (_, i) => first / windowMs + i);
    const up = covariateMeans(log, slot.map((s) => (s + 0.5) * windowMs), windowMs).map((v) => 0.03 * v); // prettier-ignore
    const still = slot.map(() => 0);
    const formal = { east: still, north: still, up: still };
    return {
      windowMs,
      slot,
      epochs: new Int32Array(slot.length).fill(6),
      east: still,
      north: still,
      up,
      formal,
    };
  };
  test.each([1, 3, 6, 12])(
    'a tide that was learnt from means of an hour is taken off means of %i h whole',
    (hours) => {
      const model = {
        covariates: [{ sensor: 'tide', lagMs: 0, low: -1, high: 1, east: 0, north: 0, up: 0.03 }],
        covariance: { east: [0], north: [0], up: [0] },
        degreesOfFreedom: { east: 50, north: 50, up: 50 },
        eastNorth: 0,
        meansMs: hour,
      };
      const windows = following(hours * hour);
      const { up } = new AppliedResponse(windows, { fromMs: first, toMs: first + 30 * dayMs }, model, [covariate]).windows; // prettier-ignore
      // Of 3 cm a metre, to a micrometre; the planted movement itself is centimetres.
      expect(Math.max(...windows.up)).toBeGreaterThan(0.0008);
      expect(Math.max(...up) - Math.min(...up)).toBeLessThan(1e-6);
    },
  );
});
