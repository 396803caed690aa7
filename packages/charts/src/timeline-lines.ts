import { t } from '@stillmark/words';
import { el, label, round } from './svg.ts';
import type { PanelTask } from './timeline.ts';

export const timelineMargin = { top: 44, right: 14, bottom: 58, left: 44 };

/** Pixels over which windows are averaged to one point of a line. */
const lessStride = 6;

/** Other windows of the axis (less the response, from other bases) as a line, broken where none is for longer than a few windows. */
export function averageLine(
  { series: { windows }, task, axis, x, y, top, height }: PanelTask,
  of: 'Less' | 'Onto',
  name: string,
): string {
  const values = windows[`${axis}${of}_mm`];
  if (!values) return '';
  let [sum, count, lastMs, d, open] = [0, 0, Number.NEGATIVE_INFINITY, '', false];
  let cell = Number.NaN;
  const flush = (): void => {
    if (count === 0) return;
    const py = Math.min(top + height, Math.max(top, y(sum / count)));
    d += `${open ? 'L' : 'M'}${cell * lessStride} ${round(py, 1)}`;
    [sum, count, open] = [0, 0, true];
  };
  values.forEach((v, i) => {
    if (Number.isNaN(v)) return;
    const ms = windows.timesMs[i]!;
    const next = Math.round(x(ms) / lessStride);
    if (next !== cell) flush();
    if (ms - lastMs > 4 * task.windowMs) {
      flush();
      open = false;
    }
    [cell, lastMs] = [next, ms];
    sum += v;
    count++;
  });
  flush();
  return el('path', { class: name, d });
}

/** Levels within the scale as lines with their text at the right; the next beyond it is named above the panel. */
export function levelLines(
  { task, axis, y, top }: PanelTask,
  low: number,
  high: number,
  right: number,
): string[] {
  const own = (task.levels ?? []).filter((level) => level.axis === axis);
  const inside = own.filter(({ at_mm: at }) => at > low && at < high);
  const beyond = own
    .filter(({ at_mm: at }) => !(at > low && at < high) && !inside.some((level) => level.at_mm === -at))
    .toSorted((a, b) => Math.abs(a.at_mm) - Math.abs(b.at_mm))[0];
  return [
    ...inside.map(({ at_mm: at, text }) => {
      // Under its line where there is no room above it.
      const above = y(at) - top > 14;
      return (
        el('path', { class: 'level-line', d: `M${timelineMargin.left} ${round(y(at))}H${right}` }) +
        label(right - 3, y(at) + (above ? -3 : 12), text, { 'text-anchor': 'end', class: 'level-name' })
      );
    }),
    beyond
      ? label(right, top - 6, t`${beyond.text}: beyond the scale`, { 'text-anchor': 'end', class: 'remark' })
      : '',
  ];
}
