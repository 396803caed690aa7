import { t } from '@stillmark/words';
import { scaleLinear } from 'd3-scale';
import { overlap, placeLabels, type Box, type LabelTask } from './labels.ts';
import { backgroundImage, backgroundLayers, type MapBackground } from './map-background.ts';
import { mapKey, type MapKey } from './map-key.ts';
import { boxesOf, mark, movementSigns, type Drawn, type MapStation } from './map-signs.ts';
import { el, escape, figure, label, round, textWidth, tickText } from './svg.ts';

export interface MapTask {
  readonly id: string;
  readonly width: number;
  readonly height: number;
  readonly title: string;
  readonly description: string;
  /** Probability of the ellipses, for the key. */
  readonly confidence: string;
  readonly stations: readonly MapStation[];
  /** The site under the stations: plan coordinates in metres, east and north in turn. */
  readonly outline: readonly MapOutline[];
  /** What lies under it all. */
  readonly background?: MapBackground;
  /** Lines between stations, by their ids, and what they are, for the key. */
  readonly lines?: { readonly words: string; readonly between: readonly (readonly [string, string])[] };
}

export interface MapOutline {
  readonly kind: string;
  readonly name?: string;
  readonly closed: boolean;
  /** True of a ring that is cut out of the area before it. */
  readonly hole?: true;
  readonly points_m: readonly number[];
}

const margin = { top: 22, right: 12, bottom: 30, left: 46 };
/** On a narrow figure bars beside the marks would cover their neighbours; the table has their figures. */
const showsUp = (width: number): boolean => width > 560;

/**
 * Plan of the network, north up: marks in their places, displacement vectors at a stated scale of their own with the
 * confidence ellipse at the head, vertical movement as a bar beside the mark.
 */
export function networkMap(given: MapTask): string {
  const up = showsUp(given.width);
  const task = fitted(up ? given : { ...given, stations: given.stations.map(withoutUp) });
  const key = keyOf(task);
  const plot = plotOf(task, key);
  const pxPerMm = vectorScale(task.stations, plot);
  const place = placement(task.stations, pxPerMm, plot);
  const drawn = task.stations.map((station) => ({
    station,
    x: place.x(station.east_m),
    y: place.y(station.north_m),
  }));
  const obstacles = drawn.flatMap((d) => boxesOf(d, pxPerMm));
  const arrowBox = freestCorner(plot, obstacles);
  const names = labels(drawn, [...obstacles, arrowBox], plot);
  const { image, layers = [] } = task.background ?? {};
  const under = backgroundLayers(layers, place, plot, [...obstacles, arrowBox, ...names.boxes]);

  return figure(
    { ...task, data: { 'px-per-mm': pxPerMm, 'px-per-metre': place.pxPerMetre } },
    el('defs', {}, el('clipPath', { id: `${task.id}-plot` }, el('rect', { ...plot }))),
    backgroundImage(task.id, image, place),
    neatLine(plot, place),
    outline(task, place),
    under.lines,
    under.labels,
    linesBetween(task, drawn),
    el(
      'g',
      { class: 'movements', 'clip-path': `url(#${task.id}-plot)` },
      ...drawn.map((d) => movementSigns(d, pxPerMm, up)),
    ),
    ...drawn.map(mark),
    ...names.drawn,
    northArrow(arrowBox),
    key.draw(plot, place.pxPerMetre, pxPerMm),
  );
}

const keyOf = (task: MapTask): MapKey => mapKey(task, margin.left, showsUp(task.width));

function plotOf({ width, height }: MapTask, key: MapKey): Box {
  return {
    x: margin.left,
    y: margin.top,
    width: width - margin.left - margin.right,
    height: height - margin.top - margin.bottom - key.height,
  };
}

/** A network that is wide and low needs no figure as high as was allowed. */
function fitted(task: MapTask): MapTask {
  const plot = plotOf(task, keyOf(task));
  const { usedHeight } = placement(task.stations, vectorScale(task.stations, plot), plot);
  const height = Math.max(0.55 * plot.width, usedHeight / share + 30);
  return height < plot.height ? { ...task, height: Math.round(task.height - plot.height + height) } : task;
}

function withoutUp(station: MapStation): MapStation {
  const { displacement: d } = station;
  return d ? { ...station, displacement: { ...d, up_mm: 0, upHalf_mm: 0 } } : station;
}

interface Placement {
  readonly x: (east: number) => number;
  readonly y: (north: number) => number;
  readonly pxPerMetre: number;
  /** Pixels that the stations with their signs take from north to south. */
  readonly usedHeight: number;
  readonly east: readonly [number, number];
  readonly north: readonly [number, number];
}

/** How far the signs of a station reach beyond its mark, in pixels. */
function reachOf(
  station: MapStation,
  pxPerMm: number,
): { left: number; right: number; up: number; down: number } {
  const boxes = boxesOf({ station, x: 0, y: 0 }, pxPerMm);
  return {
    left: -Math.min(...boxes.map((b) => b.x)),
    right: Math.max(...boxes.map((b) => b.x + b.width)),
    up: -Math.min(...boxes.map((b) => b.y)),
    down: Math.max(...boxes.map((b) => b.y + b.height)),
  };
}

/** The share of the plot that marks, vectors and ellipses may take; the rest is for labels. */
const share = 0.9;

/** One scale for both axes, as large as lets every mark, vector and ellipse lie inside the plot. */
function placement(stations: readonly MapStation[], pxPerMm: number, plot: Box): Placement {
  const reach = stations.map((s) => reachOf(s, pxPerMm));
  const spanX = (scale: number): [number, number] => [
    Math.min(...stations.map((s, i) => s.east_m * scale - reach[i]!.left)),
    Math.max(...stations.map((s, i) => s.east_m * scale + reach[i]!.right)),
  ];
  const spanY = (scale: number): [number, number] => [
    Math.min(...stations.map((s, i) => -s.north_m * scale - reach[i]!.up)),
    Math.max(...stations.map((s, i) => -s.north_m * scale + reach[i]!.down)),
  ];
  const fits = (scale: number): boolean => {
    const [x0, x1] = spanX(scale);
    const [y0, y1] = spanY(scale);
    return x1 - x0 <= share * plot.width && y1 - y0 <= share * plot.height;
  };
  // A network of one point, or of points nearer than a metre, is drawn at 100 pixels a metre.
  let [low, high] = [1e-6, 100];
  for (let i = 0; i < 50 && !fits(high); i++) {
    const middle = Math.sqrt(low * high);
    if (fits(middle)) low = middle;
    else high = middle;
    if (high / low < 1.001) break;
  }
  const pxPerMetre = fits(high) ? high : low;
  const [x0, x1] = spanX(pxPerMetre);
  const [y0, y1] = spanY(pxPerMetre);
  const left = plot.x + (plot.width - x0 - x1) / 2;
  const top = plot.y + (plot.height - y0 - y1) / 2;
  return {
    x: (e) => left + e * pxPerMetre,
    y: (n) => top - n * pxPerMetre,
    pxPerMetre,
    usedHeight: y1 - y0,
    east: [(plot.x - left) / pxPerMetre, (plot.x + plot.width - left) / pxPerMetre],
    north: [(top - plot.y - plot.height) / pxPerMetre, (top - plot.y) / pxPerMetre],
  };
}

/** Pixels for a millimetre moved: the longest vector or ellipse takes about an eighth of the plot. */
function vectorScale(stations: readonly MapStation[], plot: Box): number {
  const largest = stations.reduce((most, { displacement: d }) => {
    if (!d) return most;
    return Math.max(
      most,
      Math.hypot(d.east_mm, d.north_mm),
      d.ellipse.semiMajor_mm,
      Math.abs(d.up_mm),
      d.upHalf_mm,
    );
  }, 0);
  return Math.min(plot.width, plot.height) / 7 / Math.max(largest, 1);
}

function neatLine(plot: Box, place: Placement): string {
  const ticks = (domain: readonly [number, number], length: number): number[] =>
    scaleLinear()
      .domain(domain)
      .ticks(Math.max(2, Math.round(length / 110)));
  const bottom = plot.y + plot.height;
  return el(
    'g',
    { class: 'neatline' },
    el('rect', { x: plot.x, y: plot.y, width: plot.width, height: plot.height }),
    ...ticks(place.east, plot.width).flatMap((e) => {
      const x = place.x(e);
      const cross = el('path', { class: 'graticule', d: `M${round(x)} ${plot.y}V${round(bottom)}` });
      return [
        cross,
        el('path', { d: `M${round(x)} ${round(bottom)}v5` }),
        label(x, bottom + 17, tickText(e), { 'text-anchor': 'middle' }),
      ];
    }),
    ...ticks(place.north, plot.height).flatMap((n) => {
      const y = place.y(n);
      const cross = el('path', {
        class: 'graticule',
        d: `M${plot.x} ${round(y)}H${round(plot.x + plot.width)}`,
      });
      return [
        cross,
        el('path', { d: `M${plot.x} ${round(y)}h-5` }),
        label(plot.x - 8, y + 4, tickText(n), { 'text-anchor': 'end' }),
      ];
    }),
    label(plot.x + plot.width, bottom + 28, t`m east`, { 'text-anchor': 'end', class: 'unit' }),
    label(2, plot.y - 8, t`m north`, { class: 'unit' }),
  );
}

/** The site in grey, cut off at the neat line; names of lines are for their tips, the map's labels are its stations. */
function outline({ id, outline: lines, background }: MapTask, place: Placement): string {
  if (lines.length === 0) return '';
  const pathOf = ({ closed, points_m: p }: MapOutline): string => {
    let d = '';
    for (let i = 0; i + 1 < p.length; i += 2)
      d += `${i === 0 ? 'M' : 'L'}${round(place.x(p[i]!), 1)} ${round(place.y(p[i + 1]!), 1)}`;
    return closed ? `${d}Z` : d;
  };
  const drawn = lines.map((line, i) => {
    if (line.hole) return '';
    const { kind, name, closed } = line;
    let end = i + 1;
    while (lines[end]?.hole) end++;
    const attributes = {
      class: `${kind} ${closed ? 'area' : 'line'}`,
      d: lines.slice(i, end).map(pathOf).join(''),
      ...(end > i + 1 ? { 'fill-rule': 'evenodd' } : {}),
    };
    return name === undefined
      ? el('path', attributes)
      : el('path', attributes, el('title', {}, escape(name)));
  });
  const over = background?.image ? 'outline over-image' : 'outline';
  return el('g', { class: over, 'clip-path': `url(#${id}-plot)` }, ...drawn);
}

function linesBetween({ lines }: MapTask, drawn: readonly Drawn[]): string {
  if (!lines || lines.between.length === 0) return '';
  const placeOf = new Map(drawn.map((d) => [d.station.id, d]));
  const paths = lines.between.flatMap(([a, b]) => {
    const [from, to] = [placeOf.get(a), placeOf.get(b)];
    return from && to ? [`M${round(from.x)} ${round(from.y)}L${round(to.x)} ${round(to.y)}`] : [];
  });
  return el('path', { class: 'baseline', d: paths.join('') });
}

const labelSize = 14;

function labels(
  all: readonly Drawn[],
  obstacles: readonly Box[],
  plot: Box,
): { drawn: string[]; boxes: readonly Box[] } {
  // What moved is named first, and so beside its mark.
  const rank = ({ station }: Drawn): number => (station.state === 'moved' ? 0 : 1);
  const drawn = all.toSorted((a, b) => rank(a) - rank(b));
  const tasks = drawn.map(({ station, x, y }): LabelTask => ({
    id: station.id,
    x,
    y,
    width: textWidth(station.id, labelSize) + 4,
    height: labelSize + 2,
    clearance: 10,
  }));
  const frame = { x: plot.x + 2, y: plot.y + 2, width: plot.width - 4, height: plot.height - 4 };
  const boxes = placeLabels(tasks, obstacles, frame);
  const names = boxes.map((placed, i) =>
    el(
      'g',
      { class: 'station-label' },
      placed.led ? lead(drawn[i]!, placed) : '',
      label(placed.x + placed.width / 2, placed.y + placed.height / 2 + labelSize * 0.35, placed.id, {
        'text-anchor': 'middle',
      }),
    ),
  );
  return { drawn: names, boxes };
}

/** From the edge of a mark to the nearest edge of its label. */
function lead({ x, y }: Drawn, box: Box): string {
  const [px, py] = [
    Math.min(Math.max(x, box.x), box.x + box.width),
    Math.min(Math.max(y, box.y + 2), box.y + box.height - 2),
  ];
  const length = Math.hypot(px - x, py - y);
  const start = Math.min(8, length);
  return el('path', {
    class: 'lead',
    d: `M${round(x + (start * (px - x)) / length)} ${round(y + (start * (py - y)) / length)}L${round(px)} ${round(py)}`,
  });
}

/** The corner of the plot that the signs leave freest, for the north arrow. */
function freestCorner(plot: Box, obstacles: readonly Box[]): Box {
  const [width, height] = [26, 52];
  const corners = [
    { x: plot.x + plot.width - width - 8, y: plot.y + 8, width, height },
    { x: plot.x + 8, y: plot.y + 8, width, height },
    { x: plot.x + plot.width - width - 8, y: plot.y + plot.height - height - 8, width, height },
    { x: plot.x + 8, y: plot.y + plot.height - height - 8, width, height },
  ];
  const cost = (corner: Box): number => obstacles.reduce((sum, box) => sum + overlap(corner, box), 0);
  return corners.reduce((best, corner) => (cost(corner) < cost(best) ? corner : best));
}

function northArrow({ x, y, width }: Box): string {
  const middle = x + width / 2;
  return el(
    'g',
    { class: 'north' },
    el('path', { d: `M${round(middle)} ${round(y + 32)}v-26m-5 9l5-11l5 11` }),
    label(middle, y + 46, t`N`, { 'text-anchor': 'middle' }),
  );
}
