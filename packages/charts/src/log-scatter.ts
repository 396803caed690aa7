import { extent } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import { dotsPath } from './density.ts';
import { el, figure, label, round, tickText } from './svg.ts';

export interface LogScatterTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  /** What is read from the log, with its unit, and what moves. */
  readonly across: string;
  readonly up: string;
  /** Readings and the movements that belong to them. */
  readonly values: ArrayLike<number>;
  readonly movements_mm: ArrayLike<number>;
  /** Movement for a unit of the log, as it was fitted together with everything else. */
  readonly slope_mm: number;
}

const margin = { top: 22, right: 12, bottom: 44, left: 44 };

/** Movement against a log, each pair a mark, with the slope that was fitted through the middle of them. */
export function logScatter(task: LogScatterTask): string {
  const { width, values, movements_mm: movements, slope_mm } = task;
  const inner = width - margin.left - margin.right;
  const height = 0.72 * inner;
  const range = (a: ArrayLike<number>): [number, number] => {
    const [low = 0, high = 1] = extent(Array.from(a)) as [number?, number?];
    const room = Math.max(0.04 * (high - low), 0.5);
    return [low - room, high + room];
  };
  const x = scaleLinear(range(values), [margin.left, margin.left + inner]);
  const y = scaleLinear(range(movements), [margin.top + height, margin.top]);
  const foot = margin.top + height;
  let [meanX, meanY] = [0, 0];
  for (let i = 0; i < values.length; i++) {
    meanX += values[i]! / values.length;
    meanY += movements[i]! / values.length;
  }
  const line = clipped(x.domain(), y.domain(), meanX, meanY, slope_mm);
  return figure(
    {
      id: task.id,
      width,
      height: Math.ceil(foot + margin.bottom),
      title: task.title,
      description: task.description,
    },
    el('rect', { class: 'ground', x: margin.left, y: margin.top, width: inner, height }),
    ...y
      .ticks(5)
      .flatMap((mm) => [
        el('path', { class: 'grid', d: `M${margin.left} ${round(y(mm))}h${round(inner)}` }),
        label(margin.left - 6, y(mm) + 4, tickText(mm), { 'text-anchor': 'end', class: 'tick' }),
      ]),
    ...x
      .ticks(5)
      .flatMap((v) => [
        el('path', { class: 'grid', d: `M${round(x(v))} ${margin.top}v${round(height)}` }),
        label(x(v), foot + 16, tickText(v), { 'text-anchor': 'middle', class: 'tick' }),
      ]),
    el('path', {
      class: 'scatter',
      d: dotsPath(Array.from(values, (v, i) => [x(v), y(movements[i]!)] as const)),
    }),
    line
      ? el('path', {
          class: 'fitted',
          d: `M${round(x(line[0]))} ${round(y(line[1]))}L${round(x(line[2]))} ${round(y(line[3]))}`,
        })
      : '',
    label(margin.left + inner, foot + 34, task.across, { 'text-anchor': 'end', class: 'unit' }),
    label(margin.left, margin.top - 8, task.up, { class: 'unit' }),
  );
}

/** A line through a point, from one edge of the plot to the other. */
function clipped(
  [left, right]: readonly number[],
  [low, high]: readonly number[],
  meanX: number,
  meanY: number,
  slope: number,
): [number, number, number, number] | undefined {
  const at = (v: number): number => meanY + slope * (v - meanX);
  const ends = [left!, right!].map((v) => {
    const mm = Math.min(high!, Math.max(low!, at(v)));
    return slope === 0 ? [v, mm] : [Math.min(right!, Math.max(left!, meanX + (mm - meanY) / slope)), mm];
  });
  return [...ends[0]!, ...ends[1]!] as [number, number, number, number];
}
