import { collection, curve, drawing } from '../synthetic/outline.ts';
import { frame } from './layout.ts';

const { line, area } = drawing(frame);

/** The plan of the dam as GeoJSON: shore, crest, berm, toe, river, road, zone of influence. */
export function larkmoorOutline(): string {
  return collection([
    area('water', 'reservoir', [
      ...curve(-320, 320, (a) => -14 - 34 * Math.sqrt(Math.max(0, 1 - (a / 322) ** 2))),
      ...curve(330, 250, (a) => -60 - (330 - a) * 1.4),
      ...curve(230, -240, (a) => -215 - 18 * Math.sin(a / 90)),
      ...curve(-260, -335, (a) => -150 + (-260 - a) * 1.1),
    ]),
    line(
      'structure',
      'crest',
      curve(-318, 322, () => -4),
    ),
    line(
      'structure',
      undefined,
      curve(-318, 322, () => 7),
    ),
    line(
      'structure',
      'berm',
      curve(-214, 220, () => 42),
    ),
    area('structure', undefined, [
      ...curve(-322, 326, () => -8),
      ...curve(326, -322, (a) => 12 + 92 * Math.max(0, 1 - (a / 322) ** 2) ** 0.8),
    ]),
    line(
      'water',
      'stream',
      [...Array(12).keys()].map((i) => [9 * Math.sin(i / 1.7), 104 + 21 * i] as const),
    ),
    line(
      'road',
      'access road',
      curve(-470, -320, (a) => 210 - 206 * ((a + 470) / 150) ** 1.4),
    ),
    area('zone', 'zone of influence', [
      ...curve(-430, 430, (a) => -110 - 40 * Math.cos(a / 273)),
      ...curve(430, -430, (a) => 175 + 35 * Math.cos(a / 273)),
    ]),
  ]);
}
