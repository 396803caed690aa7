/**
 * Do the intervals of trajectories hold what they promise? `node tests/benchmarks/coverage.ts [series]`: series of white plus flicker
 * noise with a planted velocity and a step, a tenth of them missing, the noise learnt from each series alone. Prints the share of
 * 95 % intervals that hold the truth, and how often a still series is called moving at 5 %. Asserts nothing; the table is in
 * DEVELOPERS.md.
 */
import { source, whitePlusFlicker } from '@stillmark/data/synthetic/noise.ts';
import {
  averagePower,
  fitTrajectories,
  flickerD,
  PowerLawGls,
  powerLawResponse,
  studentFactor,
  studentP,
} from '@stillmark/estimation';

const total = Number(process.argv[2] ?? 2000);
const batch = 250;

interface Setting {
  readonly name: string;
  readonly n: number;
  readonly perYear: number;
  readonly season: boolean;
  readonly white: number;
  readonly flicker: number;
}

const settings: Setting[] = [
  { name: 'daily, 3 years', n: 1096, perYear: 365.25, season: true, white: 2, flicker: 1 },
  { name: 'daily, 1 year', n: 365, perYear: 365.25, season: false, white: 2, flicker: 1 },
  { name: 'daily, 60 days', n: 60, perYear: 365.25, season: false, white: 2, flicker: 1 },
  { name: 'hourly, 60 days', n: 1440, perYear: 8766, season: false, white: 2, flicker: 1 },
  { name: '6 hours, 60 days', n: 240, perYear: 1461, season: false, white: 2, flicker: 1 },
  { name: '6 hours, 14 days', n: 56, perYear: 1461, season: false, white: 2, flicker: 1 },
  { name: 'daily, 1 year, white only', n: 365, perYear: 365.25, season: false, white: 2, flicker: 0 },
  { name: 'daily, 1 year, flicker only', n: 365, perYear: 365.25, season: false, white: 0.01, flicker: 2 },
];

for (const { name, n, perYear, season, white, flicker } of settings) {
  const random = source(n + perYear + flicker);
  const counts = { velocity: 0, step: 0, fired: 0 };
  for (let done = 0; done < total; done += batch) {
    const slots = Int32Array.from(
      Array.from({ length: n }, (_, i) => i).filter((i) => i === 0 || i === n - 1 || random.uniform() > 0.1),
    );
    const termsAt = (slot: number): number[] => {
      const t = (slot - n / 2) / perYear;
      const year = 2 * Math.PI * t;
      const waves = season ? [Math.cos(year), Math.sin(year), Math.cos(2 * year), Math.sin(2 * year)] : [];
      return [1, t, slot >= 0.6 * n ? 1 : 0, ...waves];
    };
    const p = termsAt(0).length;
    const design = Float64Array.from([...slots].flatMap(termsAt));
    const response = powerLawResponse(n, flickerD);
    const series = Array.from({ length: batch }, () => {
      const noise = whitePlusFlicker(n, white, flicker, random);
      return Float64Array.from(slots, (slot) => noise[slot]!);
    });
    const fits = fitTrajectories(
      new PowerLawGls(slots, design, p, response),
      series,
      series.map((_, k) => ({ of: [k] })),
      averagePower(slots, response),
    );
    // Nothing is planted: the truth of velocity and step is zero, and generalised least squares does not see what is taken off.
    for (const { estimates } of fits) {
      const [, velocity, step] = estimates;
      const holds = ({ value, variance, degreesOfFreedom }: NonNullable<typeof step>): boolean =>
        Math.abs(value) <= studentFactor(0.95, degreesOfFreedom) * Math.sqrt(variance);
      if (holds(velocity!)) counts.velocity++;
      if (holds(step!)) counts.step++;
      if (studentP(velocity!.value / Math.sqrt(velocity!.variance), velocity!.degreesOfFreedom) <= 0.05)
        counts.fired++;
    }
  }
  const percent = (count: number): string => `${((100 * count) / total).toFixed(1).padStart(5)} %`;
  console.log(
    `${name.padEnd(30)} velocity ${percent(counts.velocity)}  step ${percent(counts.step)}  fires ${percent(counts.fired)}`,
  );
}
