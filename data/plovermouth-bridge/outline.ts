import { collection, curve, drawing, type Points } from '../synthetic/outline.ts';
import { frame, halfLength, halfSpan } from './layout.ts';

const { line, area } = drawing(frame);

/** The plan of the bridge as GeoJSON: water, low water, deck, caissons, quay, roads, zone of influence. */
export function plovermouthOutline(): string {
  return collection([
    area('water', 'estuary', [...shore('east'), ...[...shore('west')].reverse()]),
    line('contour', 'low water', inwards(shore('east'), 62)),
    line('contour', 'low water', inwards(shore('west'), -74)),
    area('structure', 'deck', rectangle(-halfLength, halfLength, 13)),
    ...[-halfSpan, halfSpan].map((at) => area('structure', undefined, rectangle(at - 11, at + 11, 24))),
    ...[-292, 292].map((at) => area('structure', undefined, rectangle(at - 4, at + 4, 17))),
    area('structure', 'quay', [
      [-312, 66],
      [-306, 196],
      [-372, 204],
      [-378, 70],
    ]),
    line(
      'road',
      undefined,
      curve(-1100, -halfLength, (a) => -40 * ((-halfLength - a) / 300) ** 1.7),
    ),
    line(
      'road',
      undefined,
      curve(halfLength, 1100, (a) => 46 * ((a - halfLength) / 300) ** 1.5),
    ),
    area('zone', 'zone of influence', [
      ...curve(-520, 520, (a) => -132 - 30 * Math.cos(a / 331)),
      ...curve(520, -520, (a) => 236 + 24 * Math.cos(a / 331)),
    ]),
  ]);
}

/** A bank, from the land to the sea: the estuary widens seaward. */
function shore(bank: 'east' | 'west'): Points {
  const side = bank === 'east' ? -1 : 1;
  const at = (seaward: number): number =>
    side * (316 + 0.16 * seaward + 24 * Math.sin(seaward / (bank === 'east' ? 130 : 170)));
  return curve(-1100, 1200, () => 0).map(([seaward]) => [at(seaward), seaward]);
}

function inwards(points: Points, by: number): Points {
  return points.map(([along, seaward]) => [along + by * (1 + 0.2 * Math.sin(seaward / 90)), seaward]);
}

/** About the axis of the deck. */
function rectangle(from: number, to: number, halfWidth: number): Points {
  return [
    [from, -halfWidth],
    [to, -halfWidth],
    [to, halfWidth],
    [from, halfWidth],
  ];
}
