import { msg, plural, t } from '@stillmark/words';
import { Trace } from './density.ts';
import { el, label, round, textWidth } from './svg.ts';
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
  const trace = new Trace();
  let [sum, count, lastMs] = [0, 0, Number.NEGATIVE_INFINITY];
  let cell = Number.NaN;
  const flush = (): void => {
    if (count === 0) return;
    const py = Math.min(top + height, Math.max(top, y(sum / count)));
    trace.to(cell * lessStride, py);
    [sum, count] = [0, 0];
  };
  values.forEach((v, i) => {
    if (Number.isNaN(v)) return;
    const ms = windows.timesMs[i]!;
    const next = Math.round(x(ms) / lessStride);
    if (next !== cell) flush();
    if (ms - lastMs > 4 * task.windowMs) {
      flush();
      trace.lift();
    }
    [cell, lastMs] = [next, ms];
    sum += v;
    count++;
  });
  flush();
  return el('path', { class: name, d: trace.path });
}

/** Levels within the scale as lines with their text at the right. */
export function levelLines(
  { task, axis, y, top }: PanelTask,
  low: number,
  high: number,
  right: number,
): string[] {
  return levelsOf(task, axis)
    .filter(({ at_mm: at }) => at > low && at < high)
    .map(({ at_mm: at, text }) => {
      // Under its line where there is no room above it.
      const above = y(at) - top > 14;
      return (
        el('path', { class: 'level-line', d: `M${timelineMargin.left} ${round(y(at))}H${right}` }) +
        label(right - 3, y(at) + (above ? -3 : 12), text, { 'text-anchor': 'end', class: 'level-name' })
      );
    });
}

const levelsOf = (task: PanelTask['task'], axis: PanelTask['axis']): NonNullable<typeof task.levels> =>
  (task.levels ?? []).filter((level) => level.axis === axis);

const remarkSize = 12.5;

/**
 * Above a panel, what lies beyond its scale: how many epochs (of bins only that there are some), and the next level. Where there is no room
 * for both, the level is told.
 */
export function beyondTheScale(
  { task, axis, name, top, inner }: PanelTask,
  low: number,
  high: number,
  epochs: number,
): string[] {
  const right = timelineMargin.left + inner;
  const own = levelsOf(task, axis);
  const level = own
    .filter(
      ({ at_mm: at }) =>
        !(at > low && at < high) && !own.some(({ at_mm: b }) => b === -at && b > low && b < high),
    )
    .toSorted((a, b) => Math.abs(a.at_mm) - Math.abs(b.at_mm))[0];
  const wide = task.width > 560;
  const ofLevel = level && (wide ? t`${level.text}: beyond the scale` : t`${level.text}: beyond`);
  const some = wide ? t`epochs beyond the scale` : t`epochs beyond`;
  const counted = wide
    ? plural(epochs, msg`${epochs} epoch beyond the scale`, msg`${epochs} epochs beyond the scale`)
    : t`${epochs} beyond`;
  const ofEpochs = task.binMs ? some : counted;
  const left = timelineMargin.left + 12 + textWidth(`${name}, mm`, 13.5);
  const room = right - (ofLevel ? textWidth(ofLevel, remarkSize) + 8 : 0) - left;
  return [
    epochs > 0 && textWidth(ofEpochs, remarkSize) <= room
      ? label(left, top - 6, ofEpochs, { class: 'remark' })
      : '',
    ofLevel ? label(right, top - 6, ofLevel, { 'text-anchor': 'end', class: 'remark' }) : '',
  ];
}
