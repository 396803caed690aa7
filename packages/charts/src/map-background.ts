import { group } from 'd3-array';
import { geoIdentity } from 'd3-geo';
import simplify from 'simplify-js';
import { overlap, type Box } from './labels.ts';
import { el, escape, round, textWidth } from './svg.ts';

/** What lies under the map beside the outline of the site. */
export interface MapBackground {
  readonly image?: MapImage;
  readonly layers: readonly MapLayer[];
}

/** An image on the plan: its upper left corner, and where a column and a row of pixels lead from there, metres east and north. */
export interface MapImage {
  /** Address as the page sees it. */
  readonly href: string;
  readonly name: string;
  readonly width_px: number;
  readonly height_px: number;
  readonly corner_m: readonly [number, number];
  readonly column_m: readonly [number, number];
  readonly row_m: readonly [number, number];
  /** 1 as it is. */
  readonly strength: number;
}

export interface MapLayer {
  readonly name: string;
  readonly lines: readonly {
    readonly label?: string;
    readonly closed: boolean;
    /** East and north in turn. */
    readonly points_m: readonly number[];
  }[];
}

/** The way from the plan onto the figure. */
export interface PlanPlace {
  readonly x: (east: number) => number;
  readonly y: (north: number) => number;
  readonly pxPerMetre: number;
}

/** The image, cut off at the neat line; turned and skewed as it lies. */
export function backgroundImage(id: string, image: MapImage | undefined, place: PlanPlace): string {
  if (!image) return '';
  const { x, y, pxPerMetre: scale } = place;
  const { href, width_px, height_px, corner_m, column_m, row_m, strength } = image;
  // An image is thousands of pixels wide: two decimals of its steps would not be enough.
  const matrix = [
    scale * column_m[0],
    -scale * column_m[1],
    scale * row_m[0],
    -scale * row_m[1],
    x(corner_m[0]),
    y(corner_m[1]),
  ].map((value) => String(Number(value.toPrecision(9))));
  return el(
    'g',
    { class: 'background', 'clip-path': `url(#${id}-plot)` },
    el(
      'g',
      { transform: `matrix(${matrix.join(' ')})` },
      el('image', {
        id: `${id}-background`,
        href,
        width: width_px,
        height: height_px,
        preserveAspectRatio: 'none',
        opacity: strength,
      }),
    ),
  );
}

type Line = readonly (readonly [number, number])[];

const labelSize = 10.5;

/** Layers of thin lines, cut at the neat line, with labels on them where nothing else stands. */
export function backgroundLayers(
  layers: readonly MapLayer[],
  place: PlanPlace,
  plot: Box,
  obstacles: readonly Box[],
): { lines: string; labels: string } {
  const taken = [...obstacles];
  const labels: string[] = [];
  const lines = layers.map(({ name, lines: own }, i) => {
    const byLabel = group(own, (line) => line.label ?? '');
    const paths = [...byLabel].map(([words, same]) => {
      const drawn = same.flatMap((line) => visibleParts(onFigure(line, place), plot));
      if (drawn.length === 0) return '';
      if (words !== '') for (const line of drawn) labels.push(labelOn(line, words, plot, taken));
      return el(
        'path',
        { d: drawn.map(pathOf).join('') },
        el('title', {}, escape(words === '' ? name : `${name}: ${words}`)),
      );
    });
    return el('g', { class: layerClass(i) }, ...paths);
  });
  return {
    lines: layers.length === 0 ? '' : el('g', { class: 'layers' }, ...lines),
    labels: labels.some((l) => l !== '')
      ? el('g', { class: 'line-labels', 'text-anchor': 'middle' }, ...labels)
      : '',
  };
}

/** Layers are told apart by their strokes. */
export const layerClass = (i: number): string => `layer layer-${i + 1}`;

function onFigure({ points_m: p, closed }: MapLayer['lines'][number], { x, y }: PlanPlace): Line {
  const line: [number, number][] = [];
  for (let i = 0; i + 1 < p.length; i += 2) line.push([x(p[i]!), y(p[i + 1]!)]);
  if (closed && line.length > 0) line.push(line[0]!);
  return line;
}

/** What of a line lies within the plot, without points that nobody would miss. */
function visibleParts(line: Line, { x, y, width, height }: Box): Line[] {
  const parts: [number, number][][] = [];
  const nothing = (): void => undefined;
  const stream = geoIdentity()
    .clipExtent([
      [x, y],
      [x + width, y + height],
    ])
    .stream({
      lineStart: () => void parts.push([]),
      point: (px, py) => void parts.at(-1)!.push([px, py]),
      lineEnd: nothing,
      polygonStart: nothing,
      polygonEnd: nothing,
    });
  stream.lineStart();
  for (const [px, py] of line) stream.point(px, py);
  stream.lineEnd();
  return parts.map(thinned).filter((part) => part.length > 1);
}

/** Pixels by which a line may be drawn beside its points: less than is seen. */
const aside = 0.5;

/** A line with as few points as show it (Ramer 1972, Douglas and Peucker 1973). */
function thinned(line: Line): Line {
  return simplify(
    line.map(([x, y]) => ({ x, y })),
    aside,
    true,
  ).map(({ x, y }) => [x, y]);
}

/** By steps from point to point, in tenths of a pixel; rounded as places are, so that no step adds to the next. */
function pathOf(line: Line): string {
  const tenths = line.map(([x, y]) => [Math.round(10 * x), Math.round(10 * y)] as const);
  return tenths
    .map(([x, y], i) => {
      const [fromX, fromY] = tenths[i - 1] ?? [0, 0];
      const [dx, dy] = [round((x - fromX) / 10, 1), round((y - fromY) / 10, 1)];
      return `${i === 0 ? 'M' : 'l'}${dx}${dy.startsWith('-') ? '' : ' '}${dy}`;
    })
    .join('');
}

/** Words on a line, along it and upright, at the first place that is straight and free; nothing where there is none. */
function labelOn(line: Line, words: string, plot: Box, taken: Box[]): string {
  const width = textWidth(words, labelSize) + 8;
  const at = placesAlong(line);
  const total = at.length;
  if (total < width + 40) return '';
  for (const share of [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8]) {
    const [from, middle, to] = [-0.5, 0, 0.5].map((k) => at.point(share * total + k * width)) as [
      [number, number],
      [number, number],
      [number, number],
    ];
    const chord = Math.hypot(to[0] - from[0], to[1] - from[1]);
    const [cx, cy] = [(from[0] + to[0]) / 2, (from[1] + to[1]) / 2];
    if (chord < 0.95 * width || Math.hypot(middle[0] - cx, middle[1] - cy) > 2.5) continue;
    const boxes = boxesAlong(from, to);
    const isInside = boxes.every(
      (b) =>
        b.x >= plot.x &&
        b.y >= plot.y &&
        b.x + b.width <= plot.x + plot.width &&
        b.y + b.height <= plot.y + plot.height,
    );
    if (!isInside || boxes.some((box) => taken.some((other) => overlap(box, other) > 0))) continue;
    taken.push(...boxes);
    const turn = (Math.atan((to[1] - from[1]) / (to[0] - from[0])) * 180) / Math.PI;
    const angle = round(Number.isNaN(turn) ? 0 : turn, 0);
    return el(
      'text',
      { transform: `translate(${round(cx, 1)} ${round(cy, 1)})rotate(${angle})`, y: labelSize * 0.35 },
      escape(words),
    );
  }
  return '';
}

/** Points of a line by their distance along it. */
function placesAlong(line: Line): { length: number; point: (distance: number) => [number, number] } {
  const sums = [0];
  for (let i = 1; i < line.length; i++)
    sums.push(sums[i - 1]! + Math.hypot(line[i]![0] - line[i - 1]![0], line[i]![1] - line[i - 1]![1]));
  return {
    length: sums.at(-1)!,
    point: (distance) => {
      let i = 1;
      while (i < line.length - 1 && sums[i]! < distance) i++;
      const [a, b] = [line[i - 1]!, line[i]!];
      const t = (distance - sums[i - 1]!) / (sums[i]! - sums[i - 1]!);
      return [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
    },
  };
}

/** A few boxes that a turned label covers. */
function boxesAlong(from: readonly [number, number], to: readonly [number, number]): Box[] {
  const side = labelSize + 2;
  const steps = Math.max(1, Math.ceil(Math.hypot(to[0] - from[0], to[1] - from[1]) / side));
  return Array.from({ length: steps + 1 }, (_, i) => ({
    x: from[0] + ((to[0] - from[0]) * i) / steps - side / 2,
    y: from[1] + ((to[1] - from[1]) * i) / steps - side / 2,
    width: side,
    height: side,
  }));
}
