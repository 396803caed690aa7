import { extent, median } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import type { ReadingSeries } from '@stillmark/records';
import { Pen, pixelColumns } from './density.ts';
import { el, label, round, tickText } from './svg.ts';

export interface SensorTask {
  readonly name: string;
  readonly unit: string;
  readonly readings: ReadingSeries;
}

export const stripHeight = 56;

/** A log under a timeline, with the time axis of the timeline and a scale of its own. */
export function sensorStrip(
  { name, unit, readings }: SensorTask,
  x: (ms: number) => number,
  top: number,
  left: number,
  inner: number,
): string {
  const { timesMs, values } = readings;
  const inside = (i: number): boolean => x(timesMs[i]!) >= left && x(timesMs[i]!) <= left + inner;
  const shown = Array.from(timesMs.keys()).filter(inside);
  const [low = 0, high = 1] = extent(shown, (i) => values[i]!) as [number?, number?];
  // A level that did not change is a line in the middle, not noise blown up.
  const room = Math.max(0.05 * (high - low), 0.5 - (high - low) / 2, 0.02);
  const y = scaleLinear([low - room, high + room], [top + stripHeight, top]);
  const ticks = y.ticks(3);
  const columns = pixelColumns(
    shown.length,
    (k) => x(timesMs[shown[k]!]!),
    (k) => y(values[shown[k]!]!),
    [top, top + stripHeight],
  );
  const text = `${name}, ${unit}`;
  const [first = 0] = timesMs;
  const step = usualStep(shown.slice(0, 400).map((i) => timesMs[i]!));
  const reach = Math.max(3, 1.5 * (x(first + step) - x(first)) + 1);
  return el(
    'g',
    { class: 'strip', 'data-name': name, 'data-unit': unit },
    el('rect', { class: 'ground', x: left, y: top, width: inner, height: stripHeight }),
    ...ticks.flatMap((value) => [
      el('path', { class: 'grid', d: `M${left} ${round(y(value))}H${round(left + inner)}` }),
      label(left - 7, y(value) + 4, tickText(value), {
        'text-anchor': 'end',
        class: 'tick',
      }),
    ]),
    el('path', { class: 'readings', d: joined(columns, reach) }),
    label(left + 4, top - 5, text, { class: 'panel-name' }),
  );
}

/** Time from one reading to the next, as usual: the median of the first that are shown; 0 where there are none. */
function usualStep(timesMs: readonly number[]): number {
  const steps = timesMs.slice(1).map((t, i) => t - timesMs[i]!);
  return median(steps.filter((ms) => ms > 0)) ?? 0;
}

/**
 * Columns, joined where they follow each other: a log is a line, and a gap in it a gap.
 *
 * @param reach pixels within which one follows another
 */
function joined(columns: ReturnType<typeof pixelColumns>, reach: number): string {
  const pen = new Pen();
  // Whole pixels, as columns are drawn: a line leads from where one ends to where the next begins.
  const drawn = columns.map(({ x, low, high }) => ({ x, low: Math.round(low), high: Math.round(high) }));
  drawn.forEach((b, i) => {
    const a = drawn[i - 1];
    if (a && b.x - a.x <= reach) {
      // From the nearer end of one column to that of the next.
      if (a.high < b.low) pen.stroke(a.x, a.high, b.x, b.low);
      else if (b.high < a.low) pen.stroke(a.x, a.low, b.x, b.high);
      // Columns that stand apart and overlap are joined within what they share.
      else if (b.x - a.x > 3) pen.stroke(a.x, Math.max(a.low, b.low), b.x, Math.max(a.low, b.low));
    }
    pen.stroke(b.x, b.low, b.x, b.high);
  });
  return pen.path;
}
