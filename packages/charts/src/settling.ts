import { max, range } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import { t } from '@stillmark/words';
import { el, figure, label, round, roundAbove, tickText } from './svg.ts';

export interface SettlingTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly panels: readonly {
    readonly name: string;
    /** How far the running mean may still wander in the last days. */
    readonly limit_mm: number;
    readonly lines: readonly {
      readonly name: string;
      readonly day: readonly number[];
      readonly value_mm: readonly number[];
      /** Drawn in colour and named. */
      readonly marked: boolean;
    }[];
  }[];
  /** Days before the end in which the mean must be at rest. */
  readonly restDays: number;
}

const margin = { top: 26, right: 46, bottom: 46, left: 40 };
const gap = 34;
const tall = 170;

/** Running means of reference periods against the days left to their end: they come to rest, or they do not. */
export function settling({ id, width, title, description, panels, restDays }: SettlingTask): string {
  const stacked = width < 560;
  const columns = stacked ? 1 : panels.length;
  const inner = (width - margin.left - columns * margin.right - (columns - 1) * (gap - 20)) / columns;
  const days = max(panels, ({ lines }) => max(lines, ({ day }) => day.at(-1) ?? 0)) ?? 1;
  const x = scaleLinear([-days, 0], [0, inner]);
  const rowHeight = tall + 44;
  const drawn = panels.map(({ name, limit_mm: limit, lines }, k) => {
    const left = margin.left + (stacked ? 0 : k * (inner + margin.right + gap - 20));
    const top = margin.top + (stacked ? k * rowHeight : 0);
    const reach = max(lines, ({ value_mm }) => max(value_mm, Math.abs) ?? 0) ?? 0;
    const most = Math.min(4 * limit, Math.max(1.15 * reach, 1.3 * limit));
    const low = lines.some(({ value_mm }) => value_mm.some((v) => v < 0)) ? -most : 0;
    const y = scaleLinear([low, most], [top + tall, top]);
    const step = roundAbove((most - low) / 6);
    const path = (day: readonly number[], value: readonly number[]): string => {
      const last = day.at(-1) ?? 0;
      return day
        .map(
          (d, i) =>
            `${i === 0 ? 'M' : 'L'}${round(left + x(d - last), 1)} ${round(y(Math.max(low, Math.min(most, value[i]!))), 1)}`,
        )
        .join('');
    };
    const restLeft = left + x(-Math.min(restDays, days));
    return el(
      'g',
      { class: 'panel' },
      el('rect', {
        class: 'rest',
        x: restLeft,
        y: y(Math.min(most, limit)),
        width: left + inner - restLeft,
        height: y(Math.max(low, -limit)) - y(Math.min(most, limit)),
      }),
      ...range(Math.ceil(low / step), Math.floor(most / step) + 1).flatMap((i) => {
        const mm = Number((i * step).toPrecision(12));
        return [
          el('path', {
            class: mm === 0 ? 'zero' : 'grid',
            d: `M${round(left)} ${round(y(mm))}h${round(inner)}`,
          }),
          label(left - 7, y(mm) + 4, tickText(mm), { 'text-anchor': 'end', class: 'tick' }),
        ];
      }),
      ...lines
        .filter(({ marked }) => !marked)
        .map(({ day, value_mm }) => el('path', { class: 'running', d: path(day, value_mm) })),
      ...lines
        .filter(({ marked }) => marked)
        .map(({ day, value_mm }) => el('path', { class: 'running marked', d: path(day, value_mm) })),
      ...markedNames(lines, (v) => y(Math.max(low, Math.min(most, v)))).map(({ text, at }) =>
        label(left + inner + 5, at + 4, text, { class: 'tick' }),
      ),
      ...range(0, days + 1, days > 20 ? 7 : days > 8 ? 3 : 1).map((d) =>
        label(left + x(-d), top + tall + 16, d === 0 ? t`end` : t`${d} d`, {
          'text-anchor': 'middle',
          class: 'tick',
        }),
      ),
      label(left, top - 8, name, { class: 'panel-name' }),
    );
  });
  const height = margin.top + (stacked ? (panels.length - 1) * rowHeight : 0) + tall + margin.bottom;
  return figure(
    { id, width, height, title, description },
    ...drawn,
    label(margin.left, height - 8, t`days before the end of the period`, {
      class: 'remark',
    }),
  );
}

/** Names beside the values three days before the end, moved apart where they would cover each other. */
function markedNames(
  lines: SettlingTask['panels'][number]['lines'],
  y: (mm: number) => number,
): { text: string; at: number }[] {
  const wanted = lines
    .filter(({ marked }) => marked)
    .map(({ name, value_mm }) => ({ text: name, at: y(value_mm.at(-1) ?? 0) }))
    .toSorted((a, b) => a.at - b.at);
  let free = Number.NEGATIVE_INFINITY;
  return wanted.map(({ text, at }) => {
    const placed = Math.max(at, free);
    free = placed + 13;
    return { text, at: placed };
  });
}
