/**
 * Are moving bases found, and still ones left alone? `node tests/benchmarks/stability.ts [years]`: networks of bases seen from two of
 * them, white noise of 1.4 mm and flicker noise of each antenna in means over 6 h (up twice that), 28 days of reference. Prints for a year
 * of still bases how often any is named, and for steps and slides of the second base how often it is named, how often another one
 * is, and after how many days. Then the time of six bases over five years. Asserts nothing; the table is in DEVELOPERS.md.
 */
import { source, whitePlusFlicker, type Source } from '@stillmark/data/synthetic/noise.ts';
import { baseNetwork, stabilityOf, stabilityPersistence, type BaseVector } from '@stillmark/analysis';
import type { StabilityRecord, StatementSettings } from '@stillmark/records';

const years = Number(process.argv[2] ?? 40);
const dayMs = 86_400_000;
const level = [1, 0, 0, 0, 1, 0, 0, 0, 1];
const settings: StatementSettings = {
  confidence: 0.95,
  familySignificance: 0.05,
  power: 0.8,
  windowMs: dayMs / 4,
  statementMs: dayMs,
  rateMs: 30 * dayMs,
};
const begin = 60;

interface Setting {
  readonly bases: number;
  readonly flicker: number;
  readonly days: number;
  readonly step: number;
  /** Millimetres a day. */
  readonly slide: number;
}

function run({ bases, flicker, days, step, slide }: Setting, random: Source): StabilityRecord {
  const names = Array.from({ length: bases }, (_, k) => `B${k + 1}`);
  const n = 4 * days;
  const antennas = names.map(() =>
    [1, 1, 2].map((size) => whitePlusFlicker(n, 1.4 * size, flicker * size, random)),
  );
  const at = (k: number, axis: number, i: number): number =>
    antennas[k]![axis]![i]! + (k === 1 && axis === 0 && i / 4 >= begin ? step + slide * (i / 4 - begin) : 0);
  const vectors = [0, 1].flatMap((from) =>
    names.flatMap((_, to): BaseVector[] => {
      if (to === from) return [];
      const column = (axis: number): Float64Array =>
        Float64Array.from({ length: n }, (__, i) => (at(to, axis, i) - at(from, axis, i)) / 1000);
      const formal = new Float64Array(n);
      return [
        {
          from: names[from]!,
          to: names[to]!,
          axes: level,
          reference: { fromMs: 0, toMs: 28 * dayMs },
          steps: [],
          windows: {
            windowMs: settings.windowMs,
            slot: Float64Array.from({ length: n }, (__, i) => i),
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
  return stabilityOf({
    network: baseNetwork(vectors, names, days * dayMs, 2 * dayMs),
    settings,
    asOfMs: days * dayMs,
  });
}

/** Index of the first day on which a base has been named for as many days in a row as are asked. */
function namedOn({ days }: StabilityRecord, id: string): number {
  const needed = stabilityPersistence;
  return days.findIndex(
    (_, i) =>
      i >= needed - 1 && days.slice(i - needed + 1, i + 1).every(({ accused }) => accused.includes(id)),
  );
}

const quantile = (sorted: readonly number[], part: number): string =>
  sorted.length === 0
    ? '–'
    : String(Math.round(sorted[Math.min(sorted.length - 1, Math.floor(part * sorted.length))]!));

const still = [
  [3, 0.05],
  [3, 0.35],
  [3, 1],
  [4, 1],
  [6, 1],
].map(([bases, flicker]): Setting => ({ bases: bases!, flicker: flicker!, days: 393, step: 0, slide: 0 }));
const moving = [
  { step: 3, slide: 0, days: 200 },
  { step: 8, slide: 0, days: 160 },
  { step: 15, slide: 0, days: 120 },
  { step: 0, slide: 0.05, days: 393 },
  { step: 0, slide: 0.1, days: 250 },
  { step: 0, slide: 0.5, days: 150 },
].flatMap((m) => [3, 5].map((bases): Setting => ({ bases, flicker: 0.35, ...m })));

for (const setting of [...still, ...moving]) {
  const random = source(1000 * setting.bases + 100 * setting.flicker + setting.step + 7 * setting.slide);
  const counts = { right: 0, wrong: 0 };
  const delays: number[] = [];
  const moves = setting.step + setting.slide > 0;
  const total = moves ? Math.ceil(years / 2) : years;
  for (let k = 0; k < total; k++) {
    const found = run(setting, random);
    for (const id of found.bases) {
      const first = namedOn(found, id);
      if (first < 0) continue;
      if (moves && id === 'B2') {
        counts.right++;
        delays.push(Date.parse(found.days[first]!.at) / dayMs - begin);
      } else counts.wrong++;
    }
  }
  delays.sort((a, b) => a - b);
  const what = moves
    ? setting.step > 0
      ? `step ${setting.step} mm`
      : `slide ${setting.slide} mm a day`
    : 'still, a year';
  console.log(
    `${setting.bases} bases, flicker ${setting.flicker} mm, ${what}`.padEnd(48) +
      (moves
        ? `named in ${counts.right} of ${total}, another in ${counts.wrong}; delay ${quantile(delays, 0.5)} days, in nine of ten ${quantile(delays, 0.9)}`
        : `${counts.wrong} wrong in ${total * setting.bases} base-years`),
  );
}
const start = performance.now();
const six = run({ bases: 6, flicker: 0.35, days: 1826, step: 0, slide: 0 }, source(1));
console.log(
  `six bases, five years of 6-hour windows: ${((performance.now() - start) / 1000).toFixed(1)} s with the making, ${six.days.length} days`,
);
