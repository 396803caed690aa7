import { range } from 'd3-array';
import { el, figure, label } from './svg.ts';

export interface HoursTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  /** On how many days each of the 24 hours was observed. */
  readonly hours: readonly number[];
  /** Days that were there to be observed. */
  readonly days: number;
}

const top = 4;
const tall = 22;

/** The 24 hours of the sidereal day, each as high as the share of days on which it was observed; an empty one is crossed. */
export function hoursStrip({ id, width, title, description, hours, days }: HoursTask): string {
  const cell = Math.floor(width / 24);
  const whole = Math.max(1, days, ...hours);
  const columns = hours.map((count, k) => {
    const height = Math.round((tall * count) / whole);
    const x = k * cell;
    const frame = el('rect', { x, y: top, width: cell - 2, height: tall, class: 'hour-frame' });
    if (count === 0)
      return (
        frame +
        el('path', {
          d: `M${x} ${top}l${cell - 2} ${tall}m0 ${-tall}l${2 - cell} ${tall}`,
          class: 'hour-none',
        })
      );
    return frame + el('rect', { x, y: top + tall - height, width: cell - 2, height, class: 'hour' });
  });
  const marks = range(0, 25, 6).map((hour) =>
    label(hour === 24 ? 24 * cell - 2 : hour * cell, top + tall + 13, String(hour), {
      'text-anchor': hour === 0 ? 'start' : hour === 24 ? 'end' : 'middle',
      class: 'tick',
    }),
  );
  return figure({ id, width, height: top + tall + 18, title, description }, [...columns, ...marks].join(''));
}
