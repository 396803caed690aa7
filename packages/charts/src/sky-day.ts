import { max } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import { t } from '@stillmark/words';
import { el, figure, label, round, tickText } from './svg.ts';
import { timeAxis, type Zone } from './time-axis.ts';

export interface SkyDayTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  readonly fromMs: number;
  readonly stepMs: number;
  /** Null where no orbits are known. */
  readonly satellites: readonly (number | null)[];
  /** Null where there are too few satellites for one. */
  readonly pdop: readonly (number | null)[];
  readonly limits: { readonly satellites: number; readonly pdop: number };
  readonly zone: Zone;
}

const panel = 96;
const gap = 26;
const top = 26;

/** Satellites above the horizon and their dilution over a span, with the limits that are to be kept. */
export function skyDay({
  id,
  width,
  title,
  description,
  fromMs,
  stepMs,
  satellites,
  pdop,
  limits,
  zone,
}: SkyDayTask): string {
  const [left, right] = [40, width - 26];
  const toMs = fromMs + stepMs * satellites.length;
  const x = scaleLinear([fromMs, toMs], [left, right]);
  const most = Math.max(limits.satellites + 2, max(satellites.map((n) => n ?? 0)) ?? 0);
  const count = scaleLinear([0, most], [top + panel, top]);
  const second = top + panel + gap;
  // A dilution above the axis is drawn at its edge.
  const dilution = scaleLinear([0, Math.max(limits.pdop * 1.5, 4)], [second + panel, second]).clamp(true);
  const steps = (values: readonly (number | null)[], y: (v: number) => number): string => {
    let d = '';
    let open = false;
    values.forEach((v, i) => {
      const at = round(x(fromMs + i * stepMs), 1);
      if (v === null) open = false;
      else {
        d += `${open ? 'L' : 'M'}${at} ${round(y(v), 1)}`;
        open = true;
      }
    });
    return d;
  };
  const axis = (y: (v: number) => number, ticks: readonly number[]): string[] =>
    ticks.flatMap((v) => [
      el('path', { class: 'graticule', d: `M${left} ${round(y(v))}H${right}` }),
      label(left - 6, y(v) + 4, tickText(v), { 'text-anchor': 'end', class: 'tick' }),
    ]);
  // On the side on which nothing should be drawn.
  const limit = (y: number, text: string, above: number): string =>
    el('path', { class: 'limit', d: `M${left} ${round(y)}H${right}` }) +
    label(right, y + above, text, { 'text-anchor': 'end', class: 'remark' });
  return figure(
    { id, width, height: second + panel + 44, title, description },
    label(left, top - 10, t`satellites`, { class: 'unit' }),
    ...axis(count, count.ticks(4)),
    limit(count(limits.satellites), t`at least ${limits.satellites}`, 14),
    el('path', { class: 'model', d: steps(satellites, count) }),
    label(left, second - 8, t`PDOP`, { class: 'unit' }),
    ...axis(dilution, dilution.ticks(4)),
    limit(dilution(limits.pdop), t`at most ${limits.pdop}`, -5),
    el('path', { class: 'model', d: steps(pdop, dilution) }),
    timeAxis(x, second + panel, fromMs, toMs, Math.max(3, Math.round((right - left) / 95)), zone),
  );
}
