import { scaleLinear } from 'd3-scale';
import { t, translated } from '@stillmark/words';
import { el, figure, label, round, textWidth } from './svg.ts';
import { timeAxis, type Zone } from './time-axis.ts';

export interface StateSpan {
  readonly fromMs: number;
  readonly toMs: number;
  readonly condition: 'measured' | 'establishing' | 'stale' | 'no-data' | 'in-doubt' | 'ended';
  /** 0 where no level is reached. */
  readonly level: number;
}

export interface StateStripsTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly rows: readonly { readonly name: string; readonly spans: readonly StateSpan[] }[];
  readonly span: { readonly fromMs: number; readonly toMs: number };
  readonly zone: Zone;
}

const rowHeight = 22;
const bar = 14;
const top = 30;

/**
 * The states of what a trigger watches, a row each: a thin line below the levels, a box with the numeral of the level that is reached,
 * and a texture of its own for each time in which that cannot be relied on. Nothing is told by colour alone.
 */
export function stateStrips({ id, width, title, description, rows, span, zone }: StateStripsTask): string {
  const left = 10 + Math.min(0.36 * width, Math.max(...rows.map(({ name }) => textWidth(name, 12.5))));
  const right = width - 14;
  const foot = top + rows.length * rowHeight;
  const x = scaleLinear([span.fromMs, span.toMs], [left, right]).clamp(true);
  const used = new Set(rows.flatMap(({ spans }) => spans.map(({ condition }) => condition)));
  const drawn = rows.map(({ name, spans }, i) => {
    const y = top + i * rowHeight + (rowHeight - bar) / 2;
    return el(
      'g',
      { class: 'strip' },
      label(left - 8, y + 11, name, { 'text-anchor': 'end' }),
      ...spans.map((s) => spanOf(id, s, x, y)),
    );
  });
  return figure(
    { id, width, height: foot + 44, title, description },
    textures(id),
    key(id, left, used, right),
    ...drawn,
    timeAxis(x, foot, span.fromMs, span.toMs, Math.max(3, Math.round((right - left) / 95)), zone),
  );
}

function spanOf(id: string, s: StateSpan, x: (ms: number) => number, y: number): string {
  const [from, to] = [x(s.fromMs), x(s.toMs)];
  const width = Math.max(1.5, to - from);
  const middle = y + bar / 2;
  const box = (name: string, fill?: string): string =>
    el('rect', { class: name, x: from, y, width, height: bar, fill });
  const parts: string[] = [];
  if (s.level > 0) {
    parts.push(box(`level level-${Math.min(s.level, 3)}`));
  } else if (s.condition === 'measured')
    parts.push(el('path', { class: 'below', d: `M${round(from)} ${round(middle)}H${round(from + width)}` }));
  if (s.condition !== 'measured') parts.push(box(`texture ${s.condition}`, `url(#${id}-${s.condition})`));
  if (s.level > 0 && width > 12)
    parts.push(
      label(from + width / 2, y + 11, String(s.level), {
        class: `numeral level-${Math.min(s.level, 3)}`,
        'text-anchor': 'middle',
      }),
    );
  return parts.join('');
}

const conditions = ['establishing', 'stale', 'no-data', 'in-doubt', 'ended'] as const;

const paths: Readonly<Record<(typeof conditions)[number], string>> = {
  establishing: 'M1.5 3h1',
  stale: 'M0 1.5H6M0 4.5H6',
  'no-data': 'M0 6L6 0M0 0L6 6',
  'in-doubt': 'M0 6L6 0',
  ended: 'M3 0V6',
};

function textures(id: string): string {
  return el(
    'defs',
    {},
    ...conditions.map((name) =>
      el(
        'pattern',
        { id: `${id}-${name}`, width: 6, height: 6, patternUnits: 'userSpaceOnUse' },
        el('path', { class: 'hatch', d: paths[name] }),
      ),
    ),
  );
}

const words: Readonly<Record<StateSpan['condition'], string>> = translated({
  measured: 'no level reached',
  establishing: 'not watched yet',
  stale: 'stale',
  'no-data': 'no data',
  'in-doubt': 'in doubt',
  ended: 'watched no more',
});

function key(id: string, left: number, used: ReadonlySet<StateSpan['condition']>, right: number): string {
  let x = left;
  const items: string[] = [];
  const add = (sign: (at: number) => string, text: string): void => {
    const needed = 20 + textWidth(text, 12.5);
    // Of a phone's width not all have room: the textures are named in the caption too.
    if (x + needed > right + 8) return;
    items.push(sign(x) + label(x + 19, 16, text));
    x += needed + 12;
  };
  add((at) => el('path', { class: 'below', d: `M${round(at)} 12h14` }), words.measured);
  add(
    (at) =>
      el('rect', { class: 'level level-1', x: at, y: 5, width: 14, height: bar }) +
      label(at + 7, 16, '1', { class: 'numeral level-1', 'text-anchor': 'middle' }),
    t`level`,
  );
  for (const name of conditions)
    if (used.has(name))
      add(
        (at) =>
          el('rect', {
            class: `texture ${name}`,
            x: at,
            y: 5,
            width: 14,
            height: bar,
            fill: `url(#${id}-${name})`,
          }),
        words[name],
      );
  return el('g', { class: 'key' }, ...items);
}
