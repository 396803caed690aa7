import { scaleLinear } from 'd3-scale';
import { axisNames, t } from '@stillmark/words';
import { el, figure, label, round, roundAbove, textWidth, tickText } from './svg.ts';
import { timeAxis, type Zone } from './time-axis.ts';

export interface BaseLinesTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly zone: Zone;
  /** Ends of the days, milliseconds of UTC. */
  readonly timesMs: readonly number[];
  readonly bases: readonly {
    readonly name: string;
    readonly east_mm: readonly number[];
    readonly north_mm: readonly number[];
    readonly up_mm: readonly number[];
    /** Whether the day alone names it. */
    readonly accused: readonly boolean[];
  }[];
}

const margin = { top: 26, right: 14, bottom: 64, left: 44 };
const tall = 110;
const gap = 26;
const axes = ['east', 'north', 'up'] as const;

/** Bases under each other in the datum of those that stand still: east, north and up as lines at one scale, days that name a base shaded. */
export function baseLines(task: BaseLinesTask): string {
  const { id, width, title, description, zone, timesMs, bases } = task;
  const inner = width - margin.left - margin.right;
  const [from, to] = [timesMs[0]!, timesMs.at(-1)!];
  const x = scaleLinear([from, to], [margin.left, margin.left + inner]);
  const most = Math.max(
    1,
    ...bases.flatMap((base) => axes.flatMap((axis) => base[`${axis}_mm`].map(Math.abs))),
  );
  const step = roundAbove((2 * most) / 5);
  // One mark for each few pixels: a line of a year weighs no more than one of a month.
  const stride = Math.max(1, Math.floor(timesMs.length / (inner / 3)));
  const panels = bases.map((base, k) => {
    const top = margin.top + k * (tall + gap);
    const y = scaleLinear([-most, most], [top + tall, top]);
    const line = (values: readonly number[]): string => {
      let d = '';
      let last = Number.NEGATIVE_INFINITY;
      for (let i = 0; i < values.length; i += stride) {
        const px = round(x(timesMs[i]!), 1);
        d += `${timesMs[i]! - last > 2.5 * stride * 86_400_000 ? 'M' : 'L'}${px} ${round(y(values[i]!), 1)}`;
        last = timesMs[i]!;
      }
      return d;
    };
    return el(
      'g',
      { class: 'panel' },
      ...runsOf(base.accused).map(([a, b]) =>
        el('rect', {
          class: 'accused',
          x: x(timesMs[a]! - 86_400_000 / 2),
          y: top,
          width: Math.max(1.5, x(timesMs[b]!) - x(timesMs[a]! - 86_400_000 / 2)),
          height: tall,
        }),
      ),
      ...[-step, 0, step].map((mm) =>
        el('path', {
          class: mm === 0 ? 'zero' : 'grid',
          d: `M${margin.left} ${round(y(mm))}h${round(inner)}`,
        }),
      ),
      ...[-step, 0, step].map((mm) =>
        label(margin.left - 7, y(mm) + 4, tickText(mm), { 'text-anchor': 'end', class: 'tick' }),
      ),
      ...axes.map((axis) => el('path', { class: `line ${axis}`, d: line(base[`${axis}_mm`]) })),
      label(margin.left, top - 7, `${base.name}, mm`, { class: 'panel-name' }),
    );
  });
  const foot = margin.top + bases.length * tall + (bases.length - 1) * gap;
  let left = margin.left;
  const key = [...axes, 'accused' as const].map((name) => {
    const at = left;
    const words = name === 'accused' ? t`days that name it` : axisNames[name];
    left += 22 + textWidth(words, 12.5) + 16;
    const sign =
      name === 'accused'
        ? el('rect', { class: 'accused', x: at, y: foot + 44, width: 14, height: 11 })
        : el('path', { class: `line ${name}`, d: `M${round(at)} ${foot + 50}h16` });
    return sign + label(at + 22, foot + 54, words);
  });
  return figure(
    { id, width, height: foot + margin.bottom, title, description },
    ...panels,
    timeAxis(x, foot, from, to, Math.max(3, Math.round(inner / 95)), zone),
    el('g', { class: 'key' }, ...key),
  );
}

/** Runs of days that are true, first and last. */
function runsOf(flags: readonly boolean[]): [number, number][] {
  const out: [number, number][] = [];
  flags.forEach((flag, i) => {
    if (!flag) return;
    const last = out.at(-1);
    if (last && last[1] === i - 1) last[1] = i;
    else out.push([i, i]);
  });
  return out;
}
