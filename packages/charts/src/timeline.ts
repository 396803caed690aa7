import { max, quickselect, range } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import type { StationSeries } from '@stillmark/records';
import { t } from '@stillmark/words';
import { areaPath, cellPath, columnStrokes, pixelColumns } from './density.ts';
import { cutTo } from './cut.ts';
import { sensorStrip, stripHeight, type SensorTask } from './sensor-strip.ts';
import { el, figure, label, round, roundAbove, textWidth, tickText } from './svg.ts';
import { timeAxis, type Zone } from './time-axis.ts';
import { averageLine, beyondTheScale, levelLines, timelineMargin } from './timeline-lines.ts';

export { timelineMargin } from './timeline-lines.ts';

export type TimelineAxis = 'east' | 'north' | 'up' | 'longitudinal' | 'transverse';

export interface TimelineTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  /** Axes from top to bottom, with the names they are labelled with. */
  readonly axes: readonly { readonly axis: TimelineAxis; readonly name: string }[];
  readonly series: StationSeries;
  readonly windowMs: number;
  readonly zone: Zone;
  /** Probability of the band, for the key. */
  readonly confidence: string;
  readonly reference?: { readonly fromMs: number; readonly toMs: number };
  readonly present?: { readonly fromMs: number; readonly toMs: number };
  readonly events: readonly { readonly timeMs: number; readonly number: number }[];
  /** Levels that are watched on an axis, in millimetres, with the text at their right end. */
  readonly levels?: readonly { readonly axis: TimelineAxis; readonly at_mm: number; readonly text: string }[];
  /** Logs, each in a strip of its own under the movements. */
  readonly sensors: readonly SensorTask[];
  /** The span that is drawn; from the first epoch to the last unless said. */
  readonly span?: { readonly fromMs: number; readonly toMs: number };
  /** Where the epochs are the least and the greatest of bins: their length. */
  readonly binMs?: number;
  /** The range of each axis, millimetres; what is drawn fills it unless said. */
  readonly ranges?: readonly AxisRange[];
}

export type AxisRange = readonly [low: number, high: number];

const margin = timelineMargin;
/** Above a panel stands its name. */
const gap = 24;
/** Above a strip stands its name. */
const stripGap = 24;

/** From so many values a pixel on they are drawn as columns. */
const dense = 1.5;

/**
 * Movements along axes against time, in millimetres from the reference position, all at one scale.
 *
 * Where a pixel holds more than one value, a column from the least to the greatest stands for them, and the band is the
 * envelope of theirs; the key says so. What lies beyond the scale is counted on the figure. Gaps in the data are gaps in
 * the drawing.
 */
export function timeline(task: TimelineTask): string {
  const { width } = task;
  const series = within(task);
  const inner = width - margin.left - margin.right;
  const ranges = task.ranges ?? rangesOf(task, series);
  // One scale for all axes: a panel is as high as its axis needs.
  const pxPerMm = (width > 560 ? 400 : 360) / ranges.reduce((sum, [low, high]) => sum + high - low, 0);
  const heights = ranges.map(([low, high]) => (high - low) * pxPerMm);
  const tops = heights.map(
    (_, i) => margin.top + i * gap + heights.slice(0, i).reduce((sum, h) => sum + h, 0),
  );
  const panelsFoot = tops.at(-1)! + heights.at(-1)!;
  const strips = task.sensors.map((_, i) => panelsFoot + (i + 1) * stripGap + i * stripHeight);
  const foot = strips.length > 0 ? strips.at(-1)! + stripHeight : panelsFoot;
  const { items, rows } = keyItems(task, series, inner);
  const height = Math.ceil(foot + margin.bottom + 20 * (rows - 1));
  const [from, to] = spanOf(task, series);
  const x = scaleLinear([from, to], [margin.left, margin.left + inner]);
  // Grid lines at least 20 pixels apart.
  const step = roundAbove(20 / pxPerMm);

  const panels = task.axes.map((axis, i) => {
    const [top, panelHeight] = [tops[i]!, heights[i]!];
    const y = scaleLinear(ranges[i]!, [top + panelHeight, top]);
    return panel({ task, series, ...axis, x, y, step, top, height: panelHeight, inner });
  });
  return figure(
    {
      id: task.id,
      width,
      height,
      title: task.title,
      description: task.description,
      data: { from: Math.round(from), to: Math.round(to), left: margin.left, right: margin.left + inner },
    },
    hatch(task.id),
    ...panels,
    ...task.sensors.map((sensor, i) => sensorStrip(sensor, x, strips[i]!, margin.left, inner)),
    ...flags(task, x, [from, to], foot),
    timeAxis(x, foot, from, to, Math.max(3, Math.round(inner / 95)), task.zone),
    key(items, foot + 50, width),
    el('path', { class: 'cursor', d: `M0 ${margin.top}V${round(foot)}` }),
  );
}

type Drawn = StationSeries;

/** The part of the series that the span shows. */
function within({ series, span }: TimelineTask): Drawn {
  if (!span) return series;
  return { epochs: cutTo(series.epochs, span), windows: cutTo(series.windows, span) };
}

function spanOf({ span }: TimelineTask, { epochs: { timesMs: t } }: Drawn): [number, number] {
  if (span) return [span.fromMs, span.toMs];
  const [first, last] = [t[0] ?? 0, t.at(-1) ?? 1];
  const room = Math.max(3_600_000, (last - first) * 0.015);
  return [first - room, last + room];
}

const column = (columns: Drawn['epochs'] | Drawn['windows'], axis: TimelineAxis): Float64Array =>
  columns[`${axis}_mm`] ?? new Float64Array(columns.timesMs.length);
const halves = (columns: Drawn['windows'], axis: TimelineAxis): Float64Array =>
  columns[`${axis}Half_mm`] ?? new Float64Array(columns.timesMs.length).fill(Number.NaN);

/** The range of an axis in millimetres: holds zero, the bands and all but the wildest epochs. */
function rangeOf({ epochs, windows }: Drawn, axis: TimelineAxis, binned: boolean): [number, number] {
  // Of bins what is set aside counts as much as a hundred epochs that are used: it would take the scale.
  const all = binned ? column(epochs, axis).filter((_, i) => epochs.flag[i] === 0) : column(epochs, axis);
  const part = (share: number): number => quantileOf(all, share);
  const half = halves(windows, axis);
  const values = column(windows, axis);
  const reach = (sign: number): number =>
    max(values, (v, i) => sign * v + (Number.isNaN(half[i]!) ? 0 : half[i]!)) ?? 0;
  // Lines of other figures of the same means are not cut off either.
  const lines = (['Less', 'Onto'] as const).flatMap((of) => windows[`${axis}${of}_mm`] ?? []);
  const line = (sign: number): number =>
    Math.max(0, ...lines.map((column) => max(column, (v) => (Number.isNaN(v) ? 0 : sign * v)) ?? 0));
  const low = Math.min(-reach(-1), -line(-1), part(0.01), -1);
  const high = Math.max(reach(1), line(1), part(0.99), 1);
  const room = 0.04 * (high - low);
  return [low - room, high + room];
}

/** The ranges that a drawing of a task fills, to draw another span at the same scale. */
export function timelineRanges(task: TimelineTask): AxisRange[] {
  return rangesOf(task, within(task));
}

function rangesOf({ axes, binMs }: TimelineTask, series: Drawn): [number, number][] {
  return atLeast(axes.map(({ axis }) => rangeOf(series, axis, Boolean(binMs))));
}

/** No panel is so low that its scale cannot be read. */
function atLeast(ranges: readonly [number, number][]): [number, number][] {
  const widest = Math.max(...ranges.map(([low, high]) => high - low));
  return ranges.map(([low, high]) => {
    const lacking = Math.max(0, 0.34 * widest - (high - low));
    return [low - lacking / 2, high + lacking / 2];
  });
}

const quantiles = new WeakMap<Float64Array, Map<number, number>>();

/** The value below which a share of the values lies; kept, since a series is drawn at two sizes. */
function quantileOf(values: Float64Array, share: number): number {
  let known = quantiles.get(values);
  if (!known) quantiles.set(values, (known = new Map<number, number>()));
  let value = known.get(share);
  if (value === undefined) {
    const k = Math.round(share * (values.length - 1));
    value = values.length === 0 ? 0 : (quickselect(Array.from(values), k)[k] ?? 0);
    known.set(share, value);
  }
  return value;
}

export interface PanelTask {
  readonly task: TimelineTask;
  readonly series: Drawn;
  readonly axis: TimelineAxis;
  readonly name: string;
  readonly x: (ms: number) => number;
  readonly y: ((mm: number) => number) & { domain(): number[] };
  readonly step: number;
  readonly top: number;
  readonly height: number;
  readonly inner: number;
}

function panel(p: PanelTask): string {
  const { task, series, axis, name, x, y, step, top, height, inner } = p;
  const [low, high] = y.domain() as [number, number];
  const right = margin.left + inner;
  const shade = (
    span: { fromMs: number; toMs: number } | undefined,
    className: string,
    fill?: string,
  ): string => {
    if (!span) return '';
    const [x0, x1] = [Math.max(margin.left, x(span.fromMs)), Math.min(right, x(span.toMs))];
    return x1 > x0 ? el('rect', { class: className, x: x0, y: top, width: x1 - x0, height, fill }) : '';
  };
  const values = column(series.epochs, axis);
  const text = `${name}, mm`;
  const zero = y(0);
  return el(
    'g',
    {
      class: 'panel',
      'data-name': name,
      'data-zero': round(zero),
      'data-px-per-mm': round((zero - y(100)) / 100, 4),
    },
    shade(task.reference, 'reference', `url(#${task.id}-hatch)`),
    shade(task.present, 'present'),
    ...range(Math.ceil(low / step), Math.floor(high / step) + 1).flatMap((k) => {
      const mm = Number((k * step).toPrecision(12));
      return [
        el('path', { class: mm === 0 ? 'zero' : 'grid', d: `M${margin.left} ${round(y(mm))}H${right}` }),
        label(margin.left - 7, y(mm) + 4, tickText(mm), {
          'text-anchor': 'end',
          class: 'tick',
        }),
      ];
    }),
    bandPath(p),
    ...epochPaths(p),
    windowPath(p),
    averageLine(p, 'Less', 'less'),
    averageLine(p, 'Onto', 'onto'),
    ...levelLines(p, low, high, right),
    label(margin.left, top - 6, text, { class: 'panel-name' }),
    ...beyondTheScale(p, low, high, countBeyond(values, low, high)),
  );
}

function countBeyond(values: Float64Array, low: number, high: number): number {
  let n = 0;
  for (const v of values) if (v < low || v > high) n++;
  return n;
}

/** True where there are more values than pixels for them. */
function isDense(n: number, inner: number): boolean {
  return n > dense * inner;
}

function epochPaths({ task, series: { epochs }, axis, x, y, inner, top, height }: PanelTask): string[] {
  const values = column(epochs, axis);
  const limits = [top, top + height] as const;
  const px = (i: number): number => x(epochs.timesMs[i]!);
  const py = (i: number): number => y(values[i]!);
  const used = (i: number): boolean => epochs.flag[i] === 0;
  const outlying = cellPath(
    values.length,
    (i) => epochs.flag[i] === 1 || epochs.flag[i] === 2,
    px,
    py,
    limits,
  );
  const outliers = outlying === '' ? '' : el('path', { class: 'outliers', d: outlying });
  if (!task.binMs && !isDense(values.length, 2 * inner))
    return [el('path', { class: 'epochs', d: cellPath(values.length, used, px, py, limits) }), outliers];
  const columns = pixelColumns(values.length, px, (i) => (used(i) ? py(i) : Number.NaN), limits);
  return [el('path', { class: 'epochs columns', d: columnStrokes(columns) }), outliers];
}

function windowPath({ series: { windows }, axis, x, y, inner, top, height }: PanelTask): string {
  const values = column(windows, axis);
  const limits = [top, top + height] as const;
  const px = (i: number): number => x(windows.timesMs[i]!);
  const py = (i: number): number => y(values[i]!);
  if (isDense(values.length, inner)) {
    const columns = pixelColumns(values.length, px, py, limits);
    return el('path', { class: 'windows columns', d: columnStrokes(columns) });
  }
  let d = '';
  for (let i = 0; i < values.length; i++)
    if (py(i) >= limits[0] && py(i) <= limits[1]) d += `M${px(i).toFixed(1)} ${py(i).toFixed(1)}h0`;
  return el('path', { class: 'windows', d });
}

interface BandPoint {
  readonly x: number;
  low: number;
  high: number;
}

/** The confidence band of the windows, broken where a window is missing; of a long series the envelope of every two pixels. */
function bandPath({ series: { windows }, task, axis, x, y, inner, top, height }: PanelTask): string {
  const value = column(windows, axis);
  const half = halves(windows, axis);
  const thin = isDense(value.length, inner);
  const points: (BandPoint | undefined)[] = [];
  for (let i = 0; i < value.length; i++) {
    if (i > 0 && windows.timesMs[i]! - windows.timesMs[i - 1]! > 1.5 * task.windowMs) points.push(undefined);
    if (Number.isNaN(half[i]!)) {
      points.push(undefined);
      continue;
    }
    const px = x(windows.timesMs[i]!);
    const point = {
      x: thin ? 2 * Math.round(px / 2) : px,
      low: value[i]! - half[i]!,
      high: value[i]! + half[i]!,
    };
    const last = points.at(-1);
    if (thin && last?.x === point.x) {
      last.low = Math.min(last.low, point.low);
      last.high = Math.max(last.high, point.high);
    } else points.push(point);
  }
  const path = areaPath(
    points.map((p) => {
      // What lies beyond the scale is cut off at the panel.
      const [high, low] = p ? [Math.max(top, y(p.high)), Math.min(top + height, y(p.low))] : [1, 0];
      return p && high <= low ? { x: p.x, top: high, foot: low } : undefined;
    }),
    thin ? 0 : 1,
  );
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

const flagWidth = 16;
const flagFoot = 20;

/** Numbered flags at the events of the span, moved apart where they would cover each other. */
function flags(
  { events }: TimelineTask,
  x: (ms: number) => number,
  [from, to]: readonly [number, number],
  foot: number,
): string[] {
  let free = Number.NEGATIVE_INFINITY;
  return events
    .filter(({ timeMs }) => timeMs >= from && timeMs <= to)
    .toSorted((a, b) => a.timeMs - b.timeMs)
    .map(({ timeMs, number }) => {
      const at = x(timeMs);
      const middle = Math.max(at, free);
      free = middle + flagWidth + 1;
      return el(
        'g',
        { class: 'event' },
        el('path', { d: `M${round(middle)} ${flagFoot}L${round(at)} ${margin.top}V${round(foot)}` }),
        el('rect', { x: middle - flagWidth / 2, y: flagFoot - 16, width: flagWidth, height: 16, rx: 2 }),
        label(middle, flagFoot - 4, String(number), { 'text-anchor': 'middle' }),
      );
    });
}

interface KeyItem {
  readonly sign: (x: number, y: number) => string;
  readonly words: string;
}

const keySize = 12.5;

/** What the signs mean, and into how many rows it goes. */
function keyItems(
  task: TimelineTask,
  { epochs, windows }: Drawn,
  inner: number,
): { items: KeyItem[]; rows: number } {
  const { confidence, reference, windowMs, width } = task;
  const box =
    (name: string, fill?: string) =>
    (x: number, y: number): string =>
      el('rect', { class: name, x, y: y - 10, width: 13, height: 11, fill });
  const strokes =
    (name: string) =>
    (x: number, y: number): string =>
      el('path', { class: name, d: `M${x + 3} ${y - 8}v8M${x + 6} ${y - 10}v8M${x + 9} ${y - 7}v8` });
  const thick = isDense(windows.timesMs.length, inner);
  const many = Boolean(task.binMs) || isDense(epochs.timesMs.length, 2 * inner);
  const somewhere = (of: 'Half' | 'Less' | 'Onto'): boolean =>
    task.axes.some(({ axis }) => windows[`${axis}${of}_mm`]?.some((v) => !Number.isNaN(v)));
  const items: KeyItem[] = [
    many
      ? { sign: strokes('epochs columns'), words: t`epochs, least to greatest` }
      : {
          sign: (x, y) =>
            el('path', {
              class: 'epochs',
              d: `M${x + 2} ${y - 4}h0M${x + 6} ${y - 6}h0M${x + 9} ${y - 2}h0`,
            }),
          words: t`epochs`,
        },
    {
      sign: thick
        ? strokes('windows columns')
        : (x, y) => el('path', { class: 'windows', d: `M${x + 6} ${y - 4}h0` }),
      words: thick ? t`means of ${windowMs / 3_600_000} h` : t`mean of ${windowMs / 3_600_000} h`,
    },
  ];
  if (epochs.flag.some((f) => f === 1 || f === 2))
    items.push({
      sign: (x, y) => el('path', { class: 'outliers', d: `M${x + 4} ${y - 5}h0M${x + 9} ${y - 3}h0` }),
      words: t`set aside`,
    });
  if (somewhere('Half'))
    items.push({ sign: box('band'), words: thick ? t`${confidence} intervals` : t`${confidence} interval` });
  if (somewhere('Less'))
    items.push({
      sign: (x, y) => el('path', { class: 'less', d: `M${x} ${y - 5}h14` }),
      words: t`less the response`,
    });
  if (somewhere('Onto'))
    items.push({
      sign: (x, y) => el('path', { class: 'onto', d: `M${x} ${y - 5}h14` }),
      words: t`from the bases that stand still`,
    });
  const [from, to] = spanOf(task, { epochs, windows });
  if (reference && reference.fromMs < to && reference.toMs > from)
    items.push({ sign: box('reference', `url(#${task.id}-hatch)`), words: t`reference period` });
  let rows = 1;
  let x = margin.left;
  for (const { words } of items) {
    const needed = 17 + textWidth(words, keySize);
    if (x + needed > width) [x, rows] = [margin.left, rows + 1];
    x = Math.round(x + needed + 17);
  }
  return { items, rows };
}

function key(items: readonly KeyItem[], top: number, width: number): string {
  let x = margin.left;
  let row = top;
  const drawn = items.map(({ sign, words }) => {
    const needed = 17 + textWidth(words, keySize);
    if (x + needed > width) [x, row] = [margin.left, row + 20];
    const out = sign(x, row) + label(x + 17, row, words);
    x = Math.round(x + needed + 17);
    return out;
  });
  return el('g', { class: 'key' }, ...drawn);
}
