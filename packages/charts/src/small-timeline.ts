import { t } from '@stillmark/words';
import { scaleLinear } from 'd3-scale';
import type { StationSeries } from '@stillmark/records';
import { cutTo } from './cut.ts';
import { columnStrokes, pixelColumns } from './density.ts';
import { el, figure, label, round, tickText } from './svg.ts';
import { timeTicks, type Zone } from './time-axis.ts';
import type { TimelineAxis } from './timeline.ts';

export interface SmallTimelineTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly axes: readonly { readonly axis: TimelineAxis; readonly name: string }[];
  readonly windows: StationSeries['windows'];
  /** The same for all figures that stand together, so that they can be compared. */
  readonly span: { readonly fromMs: number; readonly toMs: number };
  readonly limit_mm: number;
  readonly reference?: { readonly fromMs: number; readonly toMs: number };
  readonly zone: Zone;
}

const margin = { top: 17, right: 2, bottom: 19, left: 30 };
const panelHeight = 64;
const gap = 12;

/** One of many small timelines: an axis beside the other, at one scale of millimetres and of time; what lies beyond the scale is counted. */
export function smallTimeline(task: SmallTimelineTask): string {
  const { width, axes, limit_mm: limit } = task;
  const inner = (width - margin.left - margin.right - gap * (axes.length - 1)) / axes.length;
  const y = scaleLinear([-limit, limit], [margin.top + panelHeight, margin.top]);
  const ticks = [-limit, 0, limit];
  return figure(
    {
      id: task.id,
      width,
      height: margin.top + panelHeight + margin.bottom,
      title: task.title,
      description: task.description,
    },
    ...ticks.map((mm) =>
      label(margin.left - 5, y(mm) + 4, tickText(mm), { 'text-anchor': 'end', class: 'tick' }),
    ),
    ...axes.map((axis, i) => panel(task, axis, margin.left + i * (inner + gap), inner, y)),
  );
}

function panel(
  { windows: given, reference, span, zone, limit_mm }: SmallTimelineTask,
  { axis, name }: SmallTimelineTask['axes'][number],
  left: number,
  inner: number,
  y: (mm: number) => number,
): string {
  const { fromMs, toMs } = span;
  const windows = cutTo(given, span);
  const x = scaleLinear([fromMs, toMs], [left, left + inner]);
  const [top, foot] = [margin.top, margin.top + panelHeight];
  const values = windows[`${axis}_mm`] ?? new Float64Array(0);
  const half = windows[`${axis}Half_mm`];
  const beyond = values.reduce((n, v) => (Math.abs(v) > limit_mm ? n + 1 : n), 0);
  const columns = pixelColumns(
    values.length,
    (i) => x(windows.timesMs[i]!),
    (i) => y(values[i]!),
    [top, foot],
  );
  return el(
    'g',
    { class: 'panel' },
    el('rect', { class: 'ground', x: left, y: top, width: inner, height: panelHeight }),
    reference && reference.fromMs < toMs && reference.toMs > fromMs
      ? el('rect', {
          class: 'reference-span',
          x: x(Math.max(fromMs, reference.fromMs)),
          y: top,
          width: Math.max(1, x(Math.min(toMs, reference.toMs)) - x(Math.max(fromMs, reference.fromMs))),
          height: panelHeight,
        })
      : '',
    half
      ? el('path', { class: 'band-columns', d: bandPath(windows.timesMs, values, half, x, y, [top, foot]) })
      : '',
    el('path', { class: 'zero', d: `M${round(left)} ${round(y(0))}h${round(inner)}` }),
    el('path', { class: 'windows columns', d: columnStrokes(columns) }),
    label(left + 3, top - 5, beyond > 0 ? t`${name}, ${beyond} beyond` : name, { class: 'panel-name' }),
    ...timeTicks(fromMs, toMs, Math.max(2, Math.round(inner / 80)), zone).map(({ ms, text }) =>
      el(
        'g',
        { class: 'axis' },
        el('path', { d: `M${round(x(ms))} ${foot}v4` }),
        // A label at the end of a panel would stand in the next one.
        x(ms) - left > 12 && left + inner - x(ms) > 12
          ? label(x(ms), foot + 15, text, { 'text-anchor': 'middle', class: 'tick' })
          : '',
      ),
    ),
  );
}

/** The envelope of the intervals, a column for each pixel. */
function bandPath(
  timesMs: Float64Array,
  values: Float64Array,
  half: Float64Array,
  x: (ms: number) => number,
  y: (mm: number) => number,
  [top, foot]: readonly [number, number],
): string {
  const columns = new Map<number, [number, number]>();
  values.forEach((v, i) => {
    if (Number.isNaN(v) || Number.isNaN(half[i]!)) return;
    const px = Math.round(x(timesMs[i]!));
    const [high, low] = [Math.max(top, y(v + half[i]!)), Math.min(foot, y(v - half[i]!))];
    const own = columns.get(px);
    columns.set(px, own ? [Math.min(own[0], high), Math.max(own[1], low)] : [high, low]);
  });
  return [...columns]
    .flatMap(([px, [high, low]]) => (low > high ? [`M${px} ${Math.round(high)}V${Math.round(low)}`] : []))
    .join('');
}
