import { scaleLinear, scaleLog } from 'd3-scale';
import { t } from '@stillmark/words';
import { el, figure, label, round, textWidth, tickText } from './svg.ts';

export interface TradeOffPoint {
  /** False alarms in 30 days; 0 where none was seen. */
  readonly alarms: number;
  /** Days until it is found in nine of ten cases; absent where that is not in time. */
  readonly days?: number;
  /** Index of the length of its means, of at most six. */
  readonly shape: number;
  /** Filled where the nearer end of the interval counts. */
  readonly filled: boolean;
  /** Named on the figure. */
  readonly name?: string;
  readonly recommended: boolean;
}

export interface TradeOffTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly panels: readonly {
    readonly name: string;
    /** Days within which it must be found. */
    readonly within: number;
    readonly points: readonly TradeOffPoint[];
  }[];
  /** False alarms in 30 days that are borne. */
  readonly borne: number;
  /** What the shapes stand for. */
  readonly shapes: readonly string[];
  /** What the marks left of the scale are: none was seen. */
  readonly none: string;
}

const margin = { top: 54, right: 16, bottom: 48, left: 46 };
const tall = 270;
const size = 5;

/**
 * False alarms against delay, a mark for each candidate: what is asked is the corner that is shaded. Those of which no false alarm was
 * seen stand in a column of their own at the left, since a logarithm has no place for them.
 */
export function tradeOff({
  id,
  width,
  title,
  description,
  panels,
  borne,
  shapes,
  none,
}: TradeOffTask): string {
  const stacked = width < 560;
  const columns = stacked ? 1 : panels.length;
  const inner = (width - columns * (margin.left + margin.right)) / columns;
  const all = panels.flatMap(({ points }) => points.map(({ alarms }) => alarms)).filter((v) => v > 0);
  const low = 10 ** Math.floor(Math.log10(Math.min(borne / 3, ...all)));
  const high = 10 ** Math.ceil(Math.log10(Math.max(borne * 3, ...all)));
  const column = 64;
  const rowHeight = margin.top + tall + margin.bottom;
  const drawn = panels.map(({ name, within, points }, k) => {
    const left = margin.left + (stacked ? 0 : k * (inner + margin.left + margin.right));
    const top = margin.top + (stacked ? k * rowHeight : 0);
    const x = scaleLog([low, high], [left + column + 12, left + inner - 8]);
    const most = Math.max(1.25 * within, ...points.map(({ days }) => days ?? 0)) * 1.12;
    const y = scaleLinear([0, most], [top + tall, top]).nice(5);
    const at = (p: TradeOffPoint): [number, number] => [
      // Side by side by the length of their means.
      p.alarms > 0 ? x(p.alarms) : left + 10 + ((column - 20) * p.shape) / Math.max(1, shapes.length - 1),
      p.days === undefined ? top + 6 : y(p.days),
    ];
    const ticks = x.ticks().filter((v) => Number.isInteger(Number(Math.log10(v).toFixed(6))));
    return el(
      'g',
      { class: 'panel' },
      el('rect', {
        class: 'asked',
        x: left,
        y: y(within),
        width: x(borne) - left,
        height: top + tall - y(within),
      }),
      ...y.ticks(5).map(
        (v) =>
          el('path', {
            class: v === 0 ? 'zero' : 'grid',
            d: `M${left} ${round(y(v))}H${round(left + inner)}`,
          }) + label(left - 7, y(v) + 4, tickText(v), { 'text-anchor': 'end', class: 'tick' }),
      ),
      ...ticks.map((v) =>
        label(x(v), top + tall + 17, tickText(v < 1 ? Number(v.toPrecision(1)) : v), {
          'text-anchor': 'middle',
          class: 'tick',
        }),
      ),
      label(left + column / 2, top + tall + 17, none, { 'text-anchor': 'middle', class: 'tick' }),
      el('path', { class: 'divide', d: `M${left + column} ${top}V${top + tall}` }),
      label(left + inner, top + tall + 34, t`false alarms in 30 days, whole network`, {
        'text-anchor': 'end',
        class: 'unit',
      }),
      label(left, top - 8, name, { class: 'panel-name' }),
      ...points.filter((p) => !p.recommended).map((p) => mark(at(p), p)),
      ...points.filter((p) => p.recommended).map((p) => mark(at(p), p)),
      ...names(points, at, left, left + inner),
    );
  });
  const height = stacked ? panels.length * rowHeight : rowHeight;
  return figure({ id, width, height, title, description }, key(shapes, width), ...drawn);
}

const outlines: readonly string[] = [
  // Circle, square, triangle, diamond, cross, triangle down.
  `m-${size} 0a${size} ${size} 0 1 0 ${2 * size} 0a${size} ${size} 0 1 0 -${2 * size} 0z`,
  'm-4.5 -4.5h9v9h-9z',
  'm0 -5.5l5.5 9.5h-11z',
  'm0 -6l6 6l-6 6l-6 -6z',
  'm-2 -5h4v3h3v4h-3v3h-4v-3h-3v-4h3z',
  'm0 5.5l5.5 -9.5h-11z',
];

function mark(
  [x, y]: readonly [number, number],
  p: Pick<TradeOffPoint, 'shape' | 'filled' | 'recommended'>,
): string {
  const path = el('path', {
    class: `candidate ${p.filled ? 'filled' : 'hollow'}`,
    d: `M${round(x, 1)} ${round(y, 1)}${outlines[p.shape % outlines.length]!}`,
  });
  return p.recommended ? el('circle', { class: 'recommended', cx: x, cy: y, r: 11 }) + path : path;
}

/** Names of the named, each beside its mark where there is room. */
function names(
  points: readonly TradeOffPoint[],
  at: (p: TradeOffPoint) => [number, number],
  left: number,
  right: number,
): string[] {
  const taken: number[] = [];
  return points
    .filter(({ name }) => name !== undefined)
    .map((p) => {
      const [x, y] = at(p);
      let line = y + 4;
      while (taken.some((other) => Math.abs(other - line) < 15)) line += 15;
      taken.push(line);
      const width = textWidth(p.name!, 12.5);
      const fits = x + 15 + width < right || x - 15 - width < left;
      return label(fits ? x + 15 : x - 15, line, p.name!, {
        class: 'candidate-name',
        'text-anchor': fits ? 'start' : 'end',
      });
    });
}

function key(shapes: readonly string[], width: number): string {
  const items = [
    ...shapes.map((words, shape) => ({ shape, filled: false, words })),
    { shape: 0, filled: true, words: t`filled: by the interval` },
  ];
  let [x, row] = [12, 13];
  return el(
    'g',
    { class: 'key' },
    ...items.map(({ shape, filled, words }) => {
      const needed = 14 + textWidth(words, 12.5);
      if (x + needed > width) [x, row] = [12, row + 18];
      const out = mark([x, row - 4], { shape, filled, recommended: false }) + label(x + 11, row, words);
      x += needed + 16;
      return out;
    }),
  );
}
