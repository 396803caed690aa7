import { localDigits, t } from '@stillmark/words';
import type { Box } from './labels.ts';
import { el, escape, label, round } from './svg.ts';

export { escape } from './svg.ts';

/** One station on the map. Plan coordinates in metres east and north, displacement in millimetres. */
export interface MapStation {
  readonly id: string;
  readonly role: 'base' | 'monitoring';
  readonly east_m: number;
  readonly north_m: number;
  /** Words of the state, for the tip. */
  readonly words: string;
  readonly state: 'moved' | 'still' | 'held' | 'no-data' | 'establishing' | 'not-statable' | 'doubted';
  readonly href?: string;
  readonly displacement?: MapMovement;
}

/** A movement of a station with its ellipse and its interval in up. */
export interface MapMovement {
  readonly east_mm: number;
  readonly north_mm: number;
  readonly ellipse: {
    readonly semiMajor_mm: number;
    readonly semiMinor_mm: number;
    readonly azimuthDeg: number;
  };
  readonly distinguishable: boolean;
  readonly up_mm: number;
  readonly upHalf_mm: number;
  readonly upDistinguishable: boolean;
}

/** A station in its place on the figure, pixels. */
export interface Drawn {
  readonly station: MapStation;
  readonly x: number;
  readonly y: number;
}

/** What signs of a movement need of a station. */
type Moved = Pick<Drawn, 'x' | 'y'> & { readonly station: Pick<MapStation, 'displacement'> };

/** Vector, ellipse and bar of a movement; `up` false where bars are left out. */
export function movementSigns(drawn: Moved, pxPerMm: number, up: boolean): string {
  return vector(drawn, pxPerMm) + (up ? vertical(drawn, pxPerMm) : '');
}

function vector({ station, x, y }: Moved, pxPerMm: number): string {
  const { displacement: d } = station;
  if (!d) return '';
  const [hx, hy] = [x + d.east_mm * pxPerMm, y - d.north_mm * pxPerMm];
  const { semiMajor_mm, semiMinor_mm, azimuthDeg } = d.ellipse;
  const ellipse = el('ellipse', {
    cx: hx,
    cy: hy,
    rx: semiMinor_mm * pxPerMm,
    ry: semiMajor_mm * pxPerMm,
    transform: `rotate(${round(azimuthDeg)} ${round(hx)} ${round(hy)})`,
    class: 'ellipse',
  });
  return el(
    'g',
    { class: d.distinguishable ? 'vector solid' : 'vector hollow' },
    ellipse,
    arrow(x, y, hx, hy, d.distinguishable),
  );
}

/** A shaft and a head; hollow where the movement cannot be distinguished. */
export function arrow(x: number, y: number, hx: number, hy: number, solid: boolean): string {
  const length = Math.hypot(hx - x, hy - y);
  if (length < 2) return '';
  const [ux, uy] = [(hx - x) / length, (hy - y) / length];
  const head = Math.min(9, length * 0.6);
  const [bx, by] = [hx - head * ux, hy - head * uy];
  const half = head * 0.42;
  const points = [
    [hx, hy],
    [bx - half * uy, by + half * ux],
    [bx + half * uy, by - half * ux],
  ].map(([px, py]) => `${round(px!)},${round(py!)}`);
  return (
    el('path', { class: 'shaft', d: `M${round(x)} ${round(y)}L${round(bx)} ${round(by)}` }) +
    el('polygon', { class: solid ? 'head' : 'head open', points: points.join(' ') })
  );
}

/** Left of the mark: the band of what is not distinguishable in up, and the bar of the estimate. */
function vertical({ station, x, y }: Moved, pxPerMm: number): string {
  const { displacement: d } = station;
  if (!d) return '';
  const at = x - 15;
  const half = d.upHalf_mm * pxPerMm;
  const tip = y - d.up_mm * pxPerMm;
  return el(
    'g',
    { class: d.upDistinguishable ? 'vertical solid' : 'vertical hollow' },
    el('rect', { class: 'band', x: at - 3, y: tip - half, width: 6, height: 2 * half }),
    el('path', { class: 'zero', d: `M${round(at - 6)} ${round(y)}h12` }),
    el('path', { class: 'bar', d: `M${round(at)} ${round(y)}V${round(tip)}` }),
    el('path', { class: 'tip', d: `M${round(at - 4)} ${round(tip)}h8` }),
  );
}

/** Triangle for a base, circle for a monitoring station: the trade's marks for control and detail. */
export function mark({ station, x, y }: Drawn): string {
  const shape =
    station.role === 'base'
      ? el('path', { d: `M${round(x)} ${round(y - 7.5)}l7 12.5h-14z` })
      : el('circle', { cx: x, cy: y, r: 5.2 });
  const dot = station.role === 'base' ? el('circle', { class: 'centre', cx: x, cy: y, r: 1.2 }) : '';
  const group = el(
    'g',
    { class: `mark ${station.role} ${station.state}`, 'data-id': station.id, 'data-x': x, 'data-y': y },
    el('title', {}, escape(station.words)),
    shape,
    dot,
  );
  return station.href === undefined ? group : el('a', { href: station.href }, group);
}

/** What the signs of a station cover. */
export function boxesOf({ station, x, y }: Drawn, pxPerMm: number): Box[] {
  const boxes: Box[] = [{ x: x - 9, y: y - 9, width: 18, height: 18 }];
  const d = station.displacement;
  if (!d) return boxes;
  const [hx, hy] = [x + d.east_mm * pxPerMm, y - d.north_mm * pxPerMm];
  const reach = d.ellipse.semiMajor_mm * pxPerMm;
  boxes.push({ x: hx - reach, y: hy - reach, width: 2 * reach, height: 2 * reach });
  // The shaft, as a few boxes along it.
  for (const t of [0.25, 0.5, 0.75])
    boxes.push({ x: x + t * (hx - x) - 4, y: y + t * (hy - y) - 4, width: 8, height: 8 });
  const span = [y, y - (d.up_mm + d.upHalf_mm) * pxPerMm, y - (d.up_mm - d.upHalf_mm) * pxPerMm];
  if (d.upHalf_mm > 0)
    boxes.push({ x: x - 22, y: Math.min(...span), width: 14, height: Math.max(...span) - Math.min(...span) });
  return boxes;
}

/** The scale of movements: a bar of a round length, and how many times as large as the ground movements are drawn. */
export function movedBar(
  { x, y, wanted }: { readonly x: number; readonly y: number; readonly wanted: number },
  pxPerMm: number,
  pxPerMetre: number,
): string {
  const times = Number(((1000 * pxPerMm) / pxPerMetre).toPrecision(2));
  return bar(x, y, pxPerMm, wanted, (length) => t`${length}\u202fmm moved, ×\u202f${grouped(times)}`);
}

/** A whole number with thin spaces between its thousands. */
const grouped = (value: number): string =>
  localDigits(String(Math.round(value)).replace(/\B(?=(\d{3})+$)/g, '\u202f'));

/** A scale bar of a round length near `wanted` pixels, with what is said of that length beside it. */
export function bar(
  x: number,
  y: number,
  pxPerUnit: number,
  wanted: number,
  words: (length: number) => string,
): string {
  const length = roundBelow(wanted / pxPerUnit);
  const px = length * pxPerUnit;
  return (
    el('path', {
      class: 'scalebar',
      d: `M${round(x)} ${y - 4}v8M${round(x)} ${y}h${round(px)}M${round(x + px)} ${y - 4}v8`,
    }) + label(x + px + 8, y + 4, words(length))
  );
}

/** The largest of 1, 2, 5 times a power of ten that is not above a value. */
function roundBelow(value: number): number {
  const power = 10 ** Math.floor(Math.log10(value));
  const step = [5, 2, 1].find((s) => s * power <= value) ?? 1;
  return Number((step * power).toPrecision(1));
}
