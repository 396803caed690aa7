import { scaleLog } from 'd3-scale';
import { t } from '@stillmark/words';
import { el, figure, label, round, textWidth, tickText } from './svg.ts';

/** Power in a band of periods, and what the fitted noise has there on average. */
export interface SpectrumMark {
  /** Periods, days. */
  readonly longest: number;
  readonly shortest: number;
  /** Square millimetres times days, and the interval of what was found. */
  readonly density: number;
  readonly low: number;
  readonly high: number;
  readonly expected: number;
}

export interface SpectrumTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  /** Beside each other, all at one scale. */
  readonly panels: readonly { readonly name: string; readonly bands: readonly SpectrumMark[] }[];
  /** Probability of the intervals, for the key. */
  readonly confidence: string;
}

const margin = { top: 26, right: 12, bottom: 62, left: 52 };
const gap = 22;
const tall = 170;

/** Power against period, long periods on the left, both axes in powers of ten: what was found by bands, and the line of the fitted noise. */
export function spectrum({ id, width, title, description, panels, confidence }: SpectrumTask): string {
  const stacked = width < 560;
  const columns = stacked ? 1 : panels.length;
  const inner = (width - margin.left - margin.right - (columns - 1) * gap) / columns;
  const bands = panels.flatMap((panel) => panel.bands);
  const x = scaleLog()
    .domain([
      Math.max(...bands.map((b) => b.longest)) * 1.05,
      Math.min(...bands.map((b) => b.shortest)) * 0.95,
    ])
    .range([0, inner]);
  const y = scaleLog()
    .domain([
      Math.min(...bands.map((b) => Math.min(b.low, b.expected))) / 1.2,
      Math.max(...bands.map((b) => Math.max(b.high, b.expected))) * 1.2,
    ])
    .range([tall, 0]);
  const powers = wholePowers(y.domain() as [number, number]);
  const periods = [2, 7, 30, 91, 365, 1826].filter((days) => days < x.domain()[0]! && days > x.domain()[1]!);
  const foot = margin.top + tall;
  const rowHeight = tall + 46;
  const drawn = panels.map(({ name, bands: own }, k) => {
    const left = margin.left + (stacked ? 0 : k * (inner + gap));
    const top = margin.top + (stacked ? k * rowHeight : 0);
    const middle = (b: SpectrumMark): number => left + x(Math.sqrt(b.longest * b.shortest));
    return el(
      'g',
      { class: 'panel' },
      ...powers.flatMap((value) => [
        el('path', { class: 'grid', d: `M${round(left, 1)} ${round(top + y(value), 1)}h${round(inner, 1)}` }),
        ...(k === 0 || stacked
          ? [label(left - 7, top + y(value) + 4, powerText(value), { 'text-anchor': 'end', class: 'tick' })]
          : []),
      ]),
      el('rect', { class: 'ground', x: left, y: top, width: inner, height: tall }),
      ...periods.flatMap((days) => [
        el('path', { class: 'grid', d: `M${round(left + x(days), 1)} ${round(top, 1)}v${tall}` }),
        ...(k === panels.length - 1 || !stacked
          ? [
              label(left + x(days), top + tall + 16, periodText(days), {
                'text-anchor': 'middle',
                class: 'tick',
              }),
            ]
          : []),
      ]),
      ...own.map((b) =>
        el('path', {
          class: 'interval',
          d: `M${round(middle(b), 1)} ${round(top + y(b.low), 1)}V${round(top + y(b.high), 1)}`,
        }),
      ),
      el('path', {
        class: 'expected',
        d: own
          .map((b, i) => `${i === 0 ? 'M' : 'L'}${round(middle(b), 1)} ${round(top + y(b.expected), 1)}`)
          .join(''),
      }),
      el('path', {
        class: 'windows',
        d: own.map((b) => `M${round(middle(b), 1)} ${round(top + y(b.density), 1)}h0`).join(''),
      }),
      label(left, top - 7, name, { class: 'panel-name' }),
    );
  });
  const height = stacked ? margin.top + panels.length * rowHeight - 46 + margin.bottom : foot + margin.bottom;
  return figure(
    { id, width, height, title, description },
    ...drawn,
    label(margin.left, height - 28, t`period`, { class: 'tick' }),
    key(margin.left, height - 8, confidence),
  );
}

function key(left: number, y: number, confidence: string): string {
  const first = t`band, with the ${confidence} interval`;
  const second = left + 17 + textWidth(first, 12.5) + 17;
  return el(
    'g',
    { class: 'key' },
    el('path', { class: 'interval', d: `M${left + 6} ${y - 10}v11` }),
    el('path', { class: 'windows', d: `M${left + 6} ${y - 4}h0` }),
    label(left + 17, y, first),
    el('path', { class: 'expected', d: `M${round(second, 1)} ${y - 4}h14` }),
    label(second + 20, y, t`fitted noise`),
  );
}

function wholePowers([low, high]: [number, number]): number[] {
  const out: number[] = [];
  for (let k = Math.ceil(Math.log10(low)); k <= Math.log10(high); k++) out.push(10 ** k);
  return out;
}

function powerText(value: number): string {
  return value >= 0.01 && value <= 9999
    ? tickText(Number(value.toPrecision(1)))
    : `10${superscript(Math.round(Math.log10(value)))}`;
}

function superscript(power: number): string {
  return String(power).replace(/[-\d]/g, (c) => (c === '-' ? '⁻' : '⁰¹²³⁴⁵⁶⁷⁸⁹'.charAt(Number(c))));
}

function periodText(days: number): string {
  return days === 365 ? t`1 year` : days === 1826 ? t`5 years` : t`${days} d`;
}
