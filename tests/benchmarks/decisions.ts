/**
 * Do verdicts keep their promises? `node tests/benchmarks/decisions.ts [networks]`: still networks of stations seen from one base,
 * which puts its own noise into all of them, 28 (or 14) days of reference, 70 days in all, means over 6 hours, a tenth of them
 * missing. Prints how often a single figure is called moved at 5 %, how often a whole network is (5 % over all its figures), how
 * many 95 % intervals hold the truth, and how often a movement of the printed minimal detectable size is found. Asserts nothing;
 * the table is in DEVELOPERS.md.
 */
import { source, whitePlusFlicker, type Source } from '@stillmark/data/synthetic/noise.ts';
import {
  displacement,
  judgeTogether,
  ReferenceContrast,
  referenceNoise,
  type Judged,
  type WindowSeries,
} from '@stillmark/analysis';
import type { StatementSettings } from '@stillmark/records';

const networks = Number(process.argv[2] ?? 400);
const hour = 3_600_000;
const perDay = 4;
const days = 70;
const n = days * perDay;
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: 6 * hour,
  statementMs: 24 * hour,
  rateMs: 30 * 24 * hour,
};

interface Setting {
  readonly name: string;
  readonly stations: number;
  readonly referenceDays: number;
  readonly flicker: number;
}

const settingsOf = (stations: number, referenceDays: number): Setting[] =>
  [0.2, 0.6, 1.4].map((flicker) => ({
    name: `${stations} stations, ${referenceDays} d, flicker ${flicker} of white 1.4 mm`,
    stations,
    referenceDays,
    flicker,
  }));

for (const setting of [...settingsOf(12, 28), ...settingsOf(50, 28), ...settingsOf(12, 14)]) {
  const random = source(setting.stations + 1000 * setting.flicker + setting.referenceDays);
  const counts = { figures: 0, horizontal: 0, up: 0, held: 0, alarms: 0, found: 0 };
  for (let k = 0; k < networks; k++) {
    const judged = network(setting, random);
    const statements = judgeTogether(judged, settings);
    for (const { horizontal, up } of statements) {
      counts.figures++;
      if (horizontal.p < 0.05) counts.horizontal++;
      if (up.p < 0.05) counts.up++;
      if (Math.abs(up.value_mm) <= up.plusMinus_mm) counts.held++;
    }
    if (statements.some((s) => s.horizontal.distinguishable || s.up.distinguishable)) counts.alarms++;
    // One station moves up by what is printed for it.
    const [first, ...others] = judged as [Judged, ...Judged[]];
    const d = first.displacement;
    const moved = { ...first, displacement: { ...d, up_mm: d.up_mm + statements[0]!.up.detectable_mm } };
    if (judgeTogether([moved, ...others], settings)[0]!.up.distinguishable) counts.found++;
  }
  const percent = (count: number, of: number): string => `${((100 * count) / of).toFixed(1).padStart(5)} %`;
  console.log(
    `${setting.name.padEnd(52)} 2-D ${percent(counts.horizontal, counts.figures)}  1-D ${percent(counts.up, counts.figures)}  ` +
      `interval ${percent(counts.held, counts.figures)}  network ${percent(counts.alarms, networks)}  found ${percent(counts.found, networks)}`,
  );
}

/** All stations of one base, which share the places of what is missing and so one decomposition. */
function network({ stations, referenceDays, flicker }: Setting, random: Source): Judged[] {
  const there = Array.from({ length: n }, (_, i) => i).filter(
    (i) => i >= n - perDay || random.uniform() > 0.1,
  );
  const noise = (): Float64Array[] =>
    [1, 1, 2].map((scale) => whitePlusFlicker(n, 0.0014 * scale, 0.001 * flicker * scale, random));
  const base = noise();
  const to = there.findIndex((i) => i >= referenceDays * perDay);
  return Array.from({ length: stations }, () => {
    const own = noise();
    const [east, north, up] = own.map((values, axis) => {
      const all = Float64Array.from(there, (i) => values[i]! - base[axis]![i]!);
      const mean = all.subarray(0, to).reduce((s, v) => s + v, 0) / to;
      return all.map((v) => v - mean);
    }) as [Float64Array, Float64Array, Float64Array];
    const formal = new Float64Array(there.length).fill(0.0004);
    const windows: WindowSeries = {
      windowMs: settings.windowMs,
      slot: Float64Array.from(there),
      epochs: new Int32Array(there.length).fill(6),
      east,
      north,
      up,
      formal: { east: formal, north: formal, up: formal },
    };
    const contrast = new ReferenceContrast(windows, { from: 0, to });
    const learnt = referenceNoise(windows, contrast);
    return {
      displacement: displacement(windows, contrast, learnt, {
        from: there.length - perDay,
        to: there.length,
      }),
      noise: learnt,
      window: { from: '', to: '', epochs: 24, windows: perDay },
    };
  });
}
