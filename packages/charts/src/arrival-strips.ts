import { t } from '@stillmark/words';
import { el, figure, label, round, textWidth } from './svg.ts';
import { timeAxis, type Zone } from './time-axis.ts';
import { scaleLinear } from 'd3-scale';

export interface ArrivalStripsTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  /** First day, milliseconds of UTC; days follow each other. */
  readonly firstMs: number;
  readonly rows: readonly {
    readonly name: string;
    /** Share of the positions expected on each day; undefined before the first position. */
    readonly days: readonly (number | undefined)[];
  }[];
  readonly zone: Zone;
}

const dayMs = 86_400_000;
const rowHeight = 18;
const bar = 13;
const top = 34;
/** A day with more of its positions than this is drawn as whole: single ones are missing nearly every day. */
const whole = 0.9;

/** The days of each station: a filled box as high as the share of positions that came, a cross where none did. */
export function arrivalStrips({
  id,
  width,
  title,
  description,
  firstMs,
  rows,
  zone,
}: ArrivalStripsTask): string {
  const left = 10 + Math.max(...rows.map(({ name }) => textWidth(name, 12.5)));
  const right = width - 14;
  const foot = top + rows.length * rowHeight;
  const n = Math.max(...rows.map(({ days }) => days.length));
  const toMs = firstMs + n * dayMs;
  const x = scaleLinear([firstMs, toMs], [left, right]);
  const cell = (right - left) / n;
  const drawn = rows.map(({ name, days }, i) => {
    const y = top + i * rowHeight + (rowHeight - bar) / 2;
    return el(
      'g',
      { class: 'strip' },
      label(left - 8, y + 11, name, { 'text-anchor': 'end' }),
      ...days.flatMap((share, k) => (share === undefined ? [] : [dayOf(left + k * cell, y, cell, share)])),
    );
  });
  return figure(
    { id, width, height: foot + 44, title, description },
    key(left),
    ...drawn,
    timeAxis(x, foot, firstMs, toMs, Math.max(3, Math.round((right - left) / 95)), zone),
  );
}

function dayOf(x: number, y: number, cell: number, share: number): string {
  const width = Math.max(1.5, cell - 1.2);
  if (share === 0)
    return el('path', {
      class: 'day-none',
      d: `M${round(x)} ${round(y)}l${round(width)} ${bar}m0 ${-bar}l${round(-width)} ${bar}`,
    });
  const height = Math.max(1, bar * Math.min(1, share));
  const frame = share < whole ? el('rect', { class: 'day-frame', x, y, width, height: bar }) : '';
  return (
    frame + el('rect', { class: share < whole ? 'day part' : 'day', x, y: y + bar - height, width, height })
  );
}

function key(left: number): string {
  const items = [
    [1, t`90 % or more`],
    [0.5, t`in part`],
    [0, t`nothing`],
  ] as const;
  let x = left;
  return el(
    'g',
    { class: 'key' },
    ...items.map(([share, text]) => {
      const at = x;
      x += 30 + textWidth(text, 12.5);
      return dayOf(at, 6, 10, share) + label(at + 14, 17, text);
    }),
  );
}
