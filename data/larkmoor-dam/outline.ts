import { lonLatOf } from './layout.ts';

interface Feature {
  readonly type: 'Feature';
  readonly properties: { readonly kind: string; readonly name?: string };
  readonly geometry:
    | { readonly type: 'LineString'; readonly coordinates: [number, number][] }
    | { readonly type: 'Polygon'; readonly coordinates: [number, number][][] };
}

type Points = readonly (readonly [along: number, downstream: number])[];

/** The plan of the dam as GeoJSON: shore, crest, berm, toe, river, slopes of the valley, zone of influence. */
export function larkmoorOutline(): string {
  const features: Feature[] = [
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
      'contour',
      '330 m',
      curve(-560, -330, (a) => 60 + 150 * ((a + 560) / 230) ** 2 - 210),
    ),
    line(
      'contour',
      '320 m',
      curve(-560, -322, (a) => 300 - 190 * ((a + 560) / 238) ** 0.7),
    ),
    line(
      'contour',
      '330 m',
      curve(345, 610, (a) => 40 + 190 * ((a - 345) / 265) ** 1.3),
    ),
    line(
      'contour',
      '320 m',
      curve(330, 480, (a) => 105 + 205 * ((a - 330) / 150) ** 0.8),
    ),
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
  ];
  return `${JSON.stringify({ type: 'FeatureCollection', features }, undefined, 1)}\n`;
}

/** Points every few metres along the dam. */
function curve(from: number, to: number, downstream: (along: number) => number): Points {
  const n = Math.max(4, Math.round(Math.abs(to - from) / 25));
  return Array.from({ length: n + 1 }, (_, i) => {
    const along = from + ((to - from) * i) / n;
    return [along, downstream(along)] as const;
  });
}

function line(kind: string, name: string | undefined, points: Points): Feature {
  return {
    type: 'Feature',
    properties: { kind, ...(name === undefined ? {} : { name }) },
    geometry: { type: 'LineString', coordinates: points.map(([a, d]) => lonLatOf(a, d)) },
  };
}

function area(kind: string, name: string | undefined, points: Points): Feature {
  const ring = [...points, points[0]!].map(([a, d]) => lonLatOf(a, d));
  // RFC 7946: the outer ring runs counter-clockwise.
  const twice = ring.slice(1).reduce((sum, [x, y], i) => sum + ring[i]![0] * y - x * ring[i]![1], 0);
  return {
    type: 'Feature',
    properties: { kind, ...(name === undefined ? {} : { name }) },
    geometry: { type: 'Polygon', coordinates: [twice < 0 ? ring.reverse() : ring] },
  };
}
