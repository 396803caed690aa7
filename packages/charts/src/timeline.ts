import { max, quantileSorted, range } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import { area } from 'd3-shape';
import type { StationSeries } from '@stillmark/records';
import { el, figure, label, round, textWidth } from './svg.ts';
import { timeAxis, type Zone } from './time-axis.ts';

export interface TimelineTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly series: StationSeries;
  readonly windowMs: number;
  readonly zone: Zone;
  /** Probability of the band, for the key. */
  readonly confidence: string;
  readonly reference?: { readonly fromMs: number; readonly toMs: number };
  readonly present?: { readonly fromMs: number; readonly toMs: number };
  readonly events: readonly { readonly timeMs: number; readonly number: number }[];
}

const margin = { top: 26, right: 14, bottom: 58, left: 44 };
const gap = 16;
const axes = ['east', 'north', 'up'] as const;
type Axis = (typeof axes)[number];

/**
 * East, north and up against time, in millimetres from the reference position, all three at one scale.
 *
 * Epochs are drawn as one mark for each pixel cell, so that a year weighs no more than a week; what lies beyond the scale
 * is counted on the figure. Gaps in the data are gaps in the drawing.
 */
export function timeline(task: TimelineTask): string {
  const { width, series } = task;
  const inner = width - margin.left - margin.right;
  const limits = axes.map((axis) => limitOf(series, axis));
  // One scale for all axes: a panel is as high as its axis needs.
  const pxPerMm = (width > 560 ? 400 : 360) / (2 * limits.reduce((sum, limit) => sum + limit, 0));
  const heights = limits.map((limit) => 2 * limit * pxPerMm);
  const tops = heights.map(
    (_, i) => margin.top + i * gap + heights.slice(0, i).reduce((sum, h) => sum + h, 0),
  );
  const foot = tops.at(-1)! + heights.at(-1)!;
  const height = Math.ceil(foot + margin.bottom + (width > 560 ? 0 : 20));
  const [from, to] = spanOf(task);
  const x = scaleLinear([from, to], [margin.left, margin.left + inner]);
  // Grid lines at least 24 pixels apart.
  const step = roundAbove(24 / pxPerMm);

  const panels = axes.map((axis, i) => {
    const [top, limit, panelHeight] = [tops[i]!, limits[i]!, heights[i]!];
    return panel(
      task,
      axis,
      x,
      scaleLinear([-limit, limit], [top + panelHeight, top]),
      step,
      top,
      panelHeight,
      inner,
    );
  });
  return figure(
    task.id,
    width,
    height,
    task.title,
    task.description,
    hatch(task.id),
    ...panels,
    ...task.events.map(({ timeMs, number }) => flag(x(timeMs), foot, number)),
    timeAxis(x, foot, from, to, Math.max(3, Math.round(inner / 95)), task.zone),
    key(task, foot + 50),
  );
}

function spanOf({ series }: TimelineTask): [number, number] {
  const t = series.epochs.timesMs;
  const [first, last] = [t[0] ?? 0, t.at(-1) ?? 1];
  const room = Math.max(3_600_000, (last - first) * 0.015);
  return [first - room, last + room];
}

/** Half of the range of an axis in millimetres: holds the bands and all but the wildest epochs. */
function limitOf({ epochs, windows }: StationSeries, axis: Axis): number {
  const sizes = Array.from(epochs[`${axis}_mm`], Math.abs).sort((a, b) => a - b);
  const half = windows[`${axis}Half_mm`];
  const bands = Array.from(
    windows[`${axis}_mm`],
    (v, i) => Math.abs(v) + (Number.isNaN(half[i]!) ? 0 : half[i]!),
  );
  return 1.06 * Math.max(quantileSorted(sizes, 0.97) ?? 0, max(bands) ?? 0, 1);
}

/** The least of 1, 2, 5 times a power of ten that is not below a value. */
function roundAbove(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  return ([1, 2, 5].find((s) => s * power >= value) ?? 10) * power;
}

function panel(
  task: TimelineTask,
  axis: Axis,
  x: (ms: number) => number,
  y: ((mm: number) => number) & { domain(): number[] },
  step: number,
  top: number,
  height: number,
  inner: number,
): string {
  const { series, reference, present } = task;
  const [low, high] = y.domain() as [number, number];
  const right = margin.left + inner;
  const shade = (span: { fromMs: number; toMs: number } | undefined, name: string, fill?: string): string => {
    if (!span) return '';
    const [x0, x1] = [Math.max(margin.left, x(span.fromMs)), Math.min(right, x(span.toMs))];
    return x1 > x0 ? el('rect', { class: name, x: x0, y: top, width: x1 - x0, height, fill }) : '';
  };
  const { timesMs, flag } = series.epochs;
  const values = series.epochs[`${axis}_mm`];
  const beyond = countBeyond(values, low, high);
  const marks = (keep: (flag: number) => boolean): string =>
    cells(timesMs, values, (i) => keep(flag[i]!), x, y, low, high);
  return el(
    'g',
    { class: 'panel' },
    shade(reference, 'reference', `url(#${task.id}-hatch)`),
    shade(present, 'present'),
    ...range(Math.ceil(low / step), Math.floor(high / step) + 1).flatMap((k) => {
      const mm = Number((k * step).toPrecision(12));
      return [
        el('path', { class: mm === 0 ? 'zero' : 'grid', d: `M${margin.left} ${round(y(mm))}H${right}` }),
        label(margin.left - 7, y(mm) + 4, mm < 0 ? `\u2212${Math.abs(mm)}` : String(mm), {
          'text-anchor': 'end',
          class: 'tick',
        }),
      ];
    }),
    bandPaths(task, axis, x, y),
    el('path', { class: 'epochs', d: marks((flag) => flag === 0) }),
    el('path', { class: 'outliers', d: marks((flag) => flag === 1 || flag === 2) }),
    el('path', {
      class: 'windows',
      d: dots(series.windows.timesMs, series.windows[`${axis}_mm`], x, y, low, high),
    }),
    label(margin.left + 4, top + 13, `${axis}, mm`, { class: 'panel-name' }),
    beyond === 0
      ? ''
      : label(
          margin.left + 16 + textWidth(`${axis}, mm`, 13.5),
          top + 13,
          `${beyond} epochs beyond the scale`,
          { class: 'remark' },
        ),
  );
}

function countBeyond(values: Float64Array, low: number, high: number): number {
  let n = 0;
  for (const v of values) if (v < low || v > high) n++;
  return n;
}

/** One mark for each pixel cell that holds an epoch. */
function cells(
  times: Float64Array,
  values: Float64Array,
  keep: (i: number) => boolean,
  x: (ms: number) => number,
  y: (mm: number) => number,
  low: number,
  high: number,
): string {
  const seen = new Set<string>();
  for (let i = 0; i < times.length; i++) {
    const v = values[i]!;
    if (!keep(i) || v < low || v > high) continue;
    seen.add(`M${Math.round(x(times[i]!))} ${Math.round(y(v))}h0`);
  }
  return [...seen].join('');
}

function dots(
  times: Float64Array,
  values: Float64Array,
  x: (ms: number) => number,
  y: (mm: number) => number,
  low: number,
  high: number,
): string {
  let d = '';
  for (let i = 0; i < times.length; i++) {
    const v = values[i]!;
    if (v >= low && v <= high) d += `M${x(times[i]!).toFixed(1)} ${y(v).toFixed(1)}h0`;
  }
  return d;
}

/** The confidence band of the windows, broken where a window is missing. */
function bandPaths(
  { series: { windows }, windowMs }: TimelineTask,
  axis: Axis,
  x: (ms: number) => number,
  y: (mm: number) => number,
): string {
  const value = windows[`${axis}_mm`];
  const half = windows[`${axis}Half_mm`];
  const points: ([number, number, number] | undefined)[] = [];
  for (let i = 0; i < windows.timesMs.length; i++) {
    if (i > 0 && windows.timesMs[i]! - windows.timesMs[i - 1]! > 1.5 * windowMs) points.push(undefined);
    points.push(
      Number.isNaN(half[i]!) ? undefined : [windows.timesMs[i]!, value[i]! - half[i]!, value[i]! + half[i]!],
    );
  }
  const path = area<[number, number, number] | undefined>()
    .defined((p) => p !== undefined)
    .x((p) => x(p![0]))
    .y0((p) => y(p![1]))
    .y1((p) => y(p![2]))
    .digits(1)(points);
  return path ? el('path', { class: 'band', d: path }) : '';
}

function hatch(id: string): string {
  return el(
    'defs',
    {},
    el(
      'pattern',
      {
        id: `${id}-hatch`,
        width: 6,
        height: 6,
        patternUnits: 'userSpaceOnUse',
        patternTransform: 'rotate(45)',
      },
      el('path', { class: 'hatch', d: 'M0 0V6' }),
    ),
  );
}

function flag(x: number, foot: number, number: number): string {
  const text = String(number);
  return el(
    'g',
    { class: 'event' },
    el('path', { d: `M${round(x)} ${margin.top - 6}V${round(foot)}` }),
    el('rect', { x: x - 7, y: margin.top - 22, width: 14, height: 16, rx: 2 }),
    label(x, margin.top - 10, text, { 'text-anchor': 'middle' }),
  );
}

/** What the signs mean, under the axis; a narrow figure takes two rows. */
function key({ confidence, reference, windowMs, width, series }: TimelineTask, top: number): string {
  const box = (name: string) => (x: number, y: number) =>
    el('rect', { class: name, x, y: y - 9, width: 12, height: 9 });
  const items: { sign: (x: number, y: number) => string; words: string }[] = [
    {
      sign: (x, y) =>
        el('path', { class: 'epochs', d: `M${x + 2} ${y - 4}h0M${x + 6} ${y - 6}h0M${x + 9} ${y - 2}h0` }),
      words: 'epochs',
    },
    {
      sign: (x, y) => el('path', { class: 'windows', d: `M${x + 6} ${y - 4}h0` }),
      words: `mean of ${windowMs / 3_600_000} h`,
    },
  ];
  if (series.windows.eastHalf_mm.some((v) => !Number.isNaN(v)))
    items.push({ sign: box('band'), words: `${confidence} interval` });
  if (reference) items.push({ sign: box('reference-key'), words: 'reference period' });
  const size = 12.5;
  let x = margin.left;
  let row = top;
  const drawn = items.map(({ sign, words }) => {
    const needed = 17 + textWidth(words, size);
    if (x + needed > width) [x, row] = [margin.left, row + 20];
    const out = sign(x, row) + label(x + 17, row, words);
    x = Math.round(x + needed + 17);
    return out;
  });
  return el('g', { class: 'key' }, ...drawn);
}
