import { max, range } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import type { StationSeries } from '@stillmark/records';
import { t } from '@stillmark/words';
import { dotsPath } from './density.ts';
import { el, figure, label, round, roundAbove, tickText } from './svg.ts';

export interface ScatterTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly windows: StationSeries['windows'];
  /** Probability of the ellipse, for the key. */
  readonly confidence: string;
  readonly reference?: { readonly fromMs: number; readonly toMs: number };
  readonly present?: {
    readonly east_mm: number;
    readonly north_mm: number;
    readonly distinguishable: boolean;
    readonly ellipse: {
      readonly semiMajor_mm: number;
      readonly semiMinor_mm: number;
      readonly azimuthDeg: number;
    };
  };
  /** A direction worth knowing, such as downstream, clockwise from north. */
  readonly direction?: { readonly azimuthDeg: number; readonly name: string };
}

const margin = { top: 14, right: 14, bottom: 60, left: 44 };

/** Window solutions in plan, north up, with the confidence ellipse of the present position and the reference position. */
export function planScatter(task: ScatterTask): string {
  const { width, windows, present } = task;
  const side = width - margin.left - margin.right;
  const limit = limitOf(task);
  const x = scaleLinear([-limit, limit], [margin.left, margin.left + side]);
  const y = scaleLinear([-limit, limit], [margin.top + side, margin.top]);
  const step = roundAbove((2 * limit * 44) / side);
  const ticks = range(Math.ceil(-limit / step), Math.floor(limit / step) + 1).map((k) =>
    Number((k * step).toPrecision(12)),
  );
  const foot = margin.top + side;
  const inReference = (i: number): boolean =>
    task.reference !== undefined &&
    windows.timesMs[i]! >= task.reference.fromMs &&
    windows.timesMs[i]! < task.reference.toMs;
  const cells = (keep: (i: number) => boolean): string => {
    const dots: [number, number][] = [];
    windows.east_mm.forEach((e, i) => {
      const n = windows.north_mm[i]!;
      if (keep(i) && Math.abs(e) <= limit && Math.abs(n) <= limit) dots.push([x(e), y(n)]);
    });
    return dotsPath(dots);
  };
  return figure(
    {
      id: task.id,
      width,
      height: Math.ceil(foot + margin.bottom),
      title: task.title,
      description: task.description,
    },
    el(
      'g',
      { class: 'neatline' },
      el('rect', { x: margin.left, y: margin.top, width: side, height: side }),
      ...ticks.flatMap((mm) => [
        el('path', {
          class: mm === 0 ? 'zero' : 'graticule',
          d: `M${round(x(mm))} ${margin.top}V${round(foot)}M${margin.left} ${round(y(mm))}H${round(margin.left + side)}`,
        }),
        label(x(mm), foot + 16, tickText(mm), { 'text-anchor': 'middle' }),
        label(margin.left - 6, y(mm) + 4, tickText(mm), { 'text-anchor': 'end' }),
      ]),
      label(margin.left + side, foot + 31, t`mm east`, { 'text-anchor': 'end', class: 'unit' }),
      label(margin.left + 5, margin.top + 15, t`mm north`, { class: 'unit' }),
    ),
    el('path', { class: 'scatter', d: cells((i) => !inReference(i)) }),
    el('path', { class: 'scatter first', d: cells(inReference) }),
    direction(task, margin.left + side - 46, margin.top + 40),
    ...(present
      ? [
          el(
            'g',
            { class: present.distinguishable ? 'vector solid' : 'vector hollow' },
            el('ellipse', {
              class: 'ellipse',
              cx: x(present.east_mm),
              cy: y(present.north_mm),
              rx: x(present.ellipse.semiMinor_mm) - x(0),
              ry: x(present.ellipse.semiMajor_mm) - x(0),
              transform: `rotate(${round(present.ellipse.azimuthDeg)} ${round(x(present.east_mm))} ${round(y(present.north_mm))})`,
            }),
            el('path', {
              class: 'shaft',
              d: `M${round(x(0))} ${round(y(0))}L${round(x(present.east_mm))} ${round(y(present.north_mm))}`,
            }),
            el('circle', { class: 'head', cx: x(present.east_mm), cy: y(present.north_mm), r: 3.5 }),
          ),
        ]
      : []),
    key(task, foot + 49),
  );
}

/** Half of the range: holds the ellipse and nearly all means. */
function limitOf({ windows, present }: ScatterTask): number {
  const sizes = Float64Array.from(windows.east_mm, (e, i) =>
    Math.max(Math.abs(e), Math.abs(windows.north_mm[i]!)),
  ).sort();
  const reach = present
    ? max([Math.abs(present.east_mm), Math.abs(present.north_mm)])! + present.ellipse.semiMajor_mm
    : 0;
  return 1.08 * Math.max(sizes[Math.floor(0.995 * (sizes.length - 1))] ?? 0, reach, 1);
}

function direction({ direction: d }: ScatterTask, x: number, y: number): string {
  if (!d) return '';
  const a = (d.azimuthDeg * Math.PI) / 180;
  const [ux, uy] = [Math.sin(a), -Math.cos(a)];
  const [tx, ty] = [x + 16 * ux, y + 16 * uy];
  const wing = (side: number): string =>
    `${round(tx - 7 * ux - side * 4 * uy)} ${round(ty - 7 * uy + side * 4 * ux)}`;
  return el(
    'g',
    { class: 'north' },
    el('path', {
      d: `M${round(x - 16 * ux)} ${round(y - 16 * uy)}L${round(tx)} ${round(ty)}M${wing(1)}L${round(tx)} ${round(ty)}L${wing(-1)}`,
    }),
    label(x, y + 32, d.name, { 'text-anchor': 'middle' }),
  );
}

function key({ confidence, reference, present }: ScatterTask, y: number): string {
  const items: [sign: string, words: string, width: number][] = [
    [el('path', { class: 'scatter', d: `M${margin.left + 5} ${y - 4}h0` }), t`means`, 52],
  ];
  if (reference)
    items.push([el('path', { class: 'scatter first', d: `M0 ${y - 4}h0` }), t`in the reference period`, 156]);
  if (present)
    items.push([
      el(
        'g',
        { class: 'vector hollow' },
        el('ellipse', { class: 'ellipse', cx: 0, cy: y - 4, rx: 7, ry: 5 }),
      ),
      t`${confidence} ellipse now`,
      100,
    ]);
  let x = margin.left;
  return el(
    'g',
    { class: 'key' },
    ...items.map(([sign, words, width], i) => {
      const moved = i === 0 ? sign : el('g', { transform: `translate(${x + 5} 0)` }, sign);
      const out = moved + label(x + 15, y, words);
      x += width + 14;
      return out;
    }),
  );
}
