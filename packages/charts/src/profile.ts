import { scaleLinear } from 'd3-scale';
import { t } from '@stillmark/words';
import { el, figure, label, round, roundAbove, textWidth, tickText } from './svg.ts';

/** Movements of stations along the structure at one date. */
export interface ProfileLine {
  readonly text: string;
  /** Place along the structure, metres, and movement with the half-width of its interval, millimetres; in the order of the places. */
  readonly points: readonly { readonly at_m: number; readonly value_mm: number; readonly half_mm: number }[];
}

export interface ProfileTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly stations: readonly { readonly id: string; readonly at_m: number }[];
  /** A panel for each axis; dates from the oldest to the newest, which stands out. */
  readonly panels: readonly { readonly name: string; readonly lines: readonly ProfileLine[] }[];
}

const margin = { top: 40, right: 14, bottom: 40, left: 40 };
const panelHeight = 150;
const gap = 26;

/** Movement against the place along the structure at chosen dates, all panels at one scale; the newest date with its intervals. */
export function profile(task: ProfileTask): string {
  const { width, stations, panels } = task;
  const inner = width - margin.left - margin.right;
  const places = stations.map(({ at_m }) => at_m);
  const [low, high] = [Math.min(...places), Math.max(...places)];
  const room = Math.max(1, 0.04 * (high - low));
  const x = scaleLinear([low - room, high + room], [margin.left, margin.left + inner]);
  const most = panels.reduce(
    (m, { lines }) =>
      lines.reduce(
        (n, { points }, i) =>
          points.reduce(
            (k, p) => Math.max(k, Math.abs(p.value_mm) + (i === lines.length - 1 ? p.half_mm : 0)),
            n,
          ),
        m,
      ),
    1,
  );
  const limit = 1.05 * most;
  const step = roundAbove(limit / 3);
  const foot = margin.top + panels.length * panelHeight + (panels.length - 1) * gap;
  const texts = panels[0]?.lines.map(({ text }) => text) ?? [];
  const rows = keyRows(texts, inner);
  return figure(
    {
      id: task.id,
      width,
      height: foot + margin.bottom + 20 * rows.length,
      title: task.title,
      description: task.description,
    },
    ...stationNames(stations, x),
    ...panels.map(({ name, lines }, i) => {
      const top = margin.top + i * (panelHeight + gap);
      const y = scaleLinear([-limit, limit], [top + panelHeight, top]);
      const ticks = Array.from(
        { length: 2 * Math.floor(limit / step) + 1 },
        (_, k) => (k - Math.floor(limit / step)) * step,
      );
      return el(
        'g',
        { class: 'panel' },
        el('rect', { class: 'ground', x: margin.left, y: top, width: inner, height: panelHeight }),
        ...ticks.flatMap((mm) => [
          el('path', {
            class: mm === 0 ? 'zero' : 'grid',
            d: `M${margin.left} ${round(y(mm))}h${round(inner)}`,
          }),
          label(margin.left - 6, y(mm) + 4, tickText(Number(mm.toPrecision(6))), {
            'text-anchor': 'end',
            class: 'tick',
          }),
        ]),
        ...lines.map((line, k) => lineOf(line, k, lines.length, x, y)),
        label(margin.left + 4, top - 5, `${name}, mm`, { class: 'panel-name' }),
      );
    }),
    ...x
      .ticks(Math.max(3, Math.round(inner / 110)))
      .flatMap((m) => [
        el('g', { class: 'axis' }, el('path', { d: `M${round(x(m))} ${foot}v5` })),
        label(x(m), foot + 18, tickText(m), { 'text-anchor': 'middle', class: 'tick' }),
      ]),
    label(margin.left + inner, foot + 34, t`m along the structure`, { 'text-anchor': 'end', class: 'unit' }),
    ...rows.flatMap((row, r) =>
      row.map(({ index, offset }) =>
        el(
          'g',
          { class: 'key' },
          el('circle', {
            class: classOf(index, texts.length),
            cx: margin.left + offset + 10,
            cy: foot + 52 + 20 * r,
            r: radiusOf(index, texts.length),
          }),
          label(margin.left + offset + 28, foot + 56 + 20 * r, texts[index]!),
        ),
      ),
    ),
  );
}

/** Marks without lines between them: stations that follow each other along the structure may stand on different parts of it. */
function lineOf(
  { points }: ProfileLine,
  index: number,
  count: number,
  x: (m: number) => number,
  y: (mm: number) => number,
): string {
  const newest = index === count - 1;
  const marks = points.map((p) =>
    el('circle', {
      class: classOf(index, count),
      cx: x(p.at_m),
      cy: y(p.value_mm),
      r: radiusOf(index, count),
    }),
  );
  const bars = points.map(
    (p) => `M${round(x(p.at_m))} ${round(y(p.value_mm - p.half_mm))}V${round(y(p.value_mm + p.half_mm))}`,
  );
  return (newest ? el('path', { class: 'profile-interval', d: bars.join('') }) : '') + marks.join('');
}

const classOf = (index: number, count: number): string =>
  index === count - 1 ? 'profile newest' : `profile age-${count - 1 - index}`;
/** Older dates are smaller. */
const radiusOf = (index: number, count: number): number => 4.5 - 0.7 * (count - 1 - index);

/** Names over the panels, left out where they would cover each other. */
function stationNames(stations: ProfileTask['stations'], x: (m: number) => number): string[] {
  let last = Number.NEGATIVE_INFINITY;
  let row = 0;
  return stations
    .toSorted((a, b) => a.at_m - b.at_m)
    .map(({ id, at_m }) => {
      const half = textWidth(id, 12.5) / 2 + 3;
      row = x(at_m) - half < last ? 1 - row : 0;
      last = x(at_m) + half;
      return label(x(at_m), 12 + 13 * row, id, { 'text-anchor': 'middle', class: 'tick' });
    });
}

function keyRows(texts: readonly string[], inner: number): { index: number; offset: number }[][] {
  const rows: { index: number; offset: number }[][] = [[]];
  let offset = 0;
  texts.forEach((text, index) => {
    const width = 28 + textWidth(text, 12.5) + 20;
    if (offset > 0 && offset + width > inner) {
      rows.push([]);
      offset = 0;
    }
    rows.at(-1)!.push({ index, offset });
    offset += width;
  });
  return rows;
}
