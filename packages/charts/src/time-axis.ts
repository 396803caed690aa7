import { inContext, t, translated } from '@stillmark/words';
import { scaleUtc } from 'd3-scale';
import { el, label, round } from './svg.ts';

/** The zone in which a figure shows time. */
export interface Zone {
  /** Its name, such as Europe/London. */
  readonly zone: string;
  /** Wall clock minus UTC at an instant, in milliseconds. */
  offsetMs(ms: number): number;
  /** Name of that offset, such as UTC+01:00. */
  offsetName(ms: number): string;
}

const months = translated(
  ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'],
  'month, short',
);

/** Round times of the zone's wall clock between two instants, with their labels. */
export function timeTicks(
  fromMs: number,
  toMs: number,
  count: number,
  zone: Zone,
): { ms: number; text: string }[] {
  const wall = scaleUtc().domain([fromMs + zone.offsetMs(fromMs), toMs + zone.offsetMs(toMs)]);
  const ticks = wall.ticks(count);
  const monthly = ticks.every((tick) => tick.getUTCDate() === 1);
  return ticks.map((tick) => {
    // The offset of the tick itself may differ from that of the ends by the hour of daylight saving.
    const near = tick.getTime() - zone.offsetMs(tick.getTime());
    return { ms: tick.getTime() - zone.offsetMs(near), text: tickText(tick, monthly) };
  });
}

function tickText(wall: Date, monthly: boolean): string {
  const [day, month, hour, minute] = [
    wall.getUTCDate(),
    wall.getUTCMonth(),
    wall.getUTCHours(),
    wall.getUTCMinutes(),
  ];
  if (hour !== 0 || minute !== 0)
    return inContext('time')`${String(hour).padStart(2, '0')}:${String(minute).padStart(2, '0')}`;
  if (!monthly) return inContext('date, short')`${day} ${months[month]}`;
  return month === 0 ? String(wall.getUTCFullYear()) : months[month]!;
}

/** Axis at the foot of a figure: ticks, labels, and the zone. */
export function timeAxis(
  x: (ms: number) => number,
  y: number,
  fromMs: number,
  toMs: number,
  count: number,
  zone: Zone,
): string {
  const ticks = timeTicks(fromMs, toMs, count, zone);
  const [offset, ...others] = new Set(
    [fromMs, ...ticks.map(({ ms }) => ms), toMs].map((ms) => zone.offsetName(ms)),
  );
  return el(
    'g',
    { class: 'axis' },
    el('path', { d: `M${round(x(fromMs))} ${round(y)}H${round(x(toMs))}` }),
    ...ticks.map(
      ({ ms, text }) =>
        el('path', { d: `M${round(x(ms))} ${round(y)}v5` }) +
        label(x(ms), y + 17, text, { 'text-anchor': 'middle' }),
    ),
    label(
      x(toMs),
      y + 32,
      others.length === 0 ? t`time in ${offset}` : t`time in ${zone.zone}, summer and winter time`,
      {
        'text-anchor': 'end',
        class: 'unit',
      },
    ),
  );
}
