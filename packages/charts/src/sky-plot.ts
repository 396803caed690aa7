import { el, figure, label, round } from './svg.ts';

export interface SkyPlotTask {
  readonly id: string;
  readonly width: number;
  readonly title: string;
  readonly description: string;
  /** Where satellites stand: azimuth and elevation in turn, degrees; a line each. */
  readonly tracks: readonly (readonly number[])[];
  /** What stands around the antenna, as tracks; empty where nothing does. */
  readonly horizon: readonly number[];
  readonly maskDeg: number;
}

const rings = [0, 30, 60] as const;

/** The sky above an antenna, north up, the horizon outside: where satellites go, and what is hidden. */
export function skyPlot({ id, width, title, description, tracks, horizon, maskDeg }: SkyPlotTask): string {
  const radius = width / 2 - 22;
  const centre = width / 2;
  const place = (azimuth: number, elevation: number): [number, number] => {
    const r = (radius * (90 - elevation)) / 90;
    const a = (azimuth * Math.PI) / 180;
    return [centre + r * Math.sin(a), centre - r * Math.cos(a)];
  };
  const path = (points: readonly [number, number][]): string =>
    points.map(([x, y], i) => `${i === 0 ? 'M' : 'L'}${round(x, 1)} ${round(y, 1)}`).join('');
  const line = (numbers: readonly number[]): [number, number][] =>
    Array.from({ length: numbers.length / 2 }, (_, i) => place(numbers[2 * i]!, numbers[2 * i + 1]!));
  const ring = (elevation: number): string =>
    el('circle', { class: 'ring', cx: centre, cy: centre, r: (radius * (90 - elevation)) / 90 });
  return figure(
    { id, width, height: width, title, description },
    el(
      'defs',
      {},
      el(
        'pattern',
        { id: `${id}-hidden`, width: 6, height: 6, patternUnits: 'userSpaceOnUse' },
        el('path', { class: 'hatch', d: 'M0 6L6 0' }),
      ),
    ),
    ...rings.map(ring),
    el('path', {
      class: 'cross',
      d: `M${centre} ${centre - radius}V${centre + radius}M${centre - radius} ${centre}H${centre + radius}`,
    }),
    el('path', { class: 'tracks', d: tracks.map((t) => path(line(t))).join('') }),
    hidden(id, horizon, maskDeg, place, path),
    ...(['N', 'E', 'S', 'W'] as const).map((name, k) => {
      const [x, y] = place(90 * k, -7);
      return label(x, y + 4, name, { 'text-anchor': 'middle', class: 'tick' });
    }),
    ...rings.slice(1).map((elevation) => {
      const [x, y] = place(0, elevation);
      return label(x + 3, y - 2, `${elevation}°`, { class: 'remark' });
    }),
  );
}

/** Between the horizon of the ellipsoid and the mask, or what stands above it. */
function hidden(
  id: string,
  horizon: readonly number[],
  maskDeg: number,
  place: (azimuth: number, elevation: number) => [number, number],
  path: (points: readonly [number, number][]) => string,
): string {
  const degrees = Array.from({ length: 361 }, (_, azimuth) => azimuth);
  const inner = degrees.map((azimuth) => place(azimuth, Math.max(maskDeg, elevationAt(horizon, azimuth))));
  const outer = degrees.toReversed().map((azimuth) => place(azimuth, 0));
  const d = `${path(inner)}${path(outer).replace('M', 'L')}Z`;
  return (
    el('path', { class: 'texture hidden-ground', d }) +
    el('path', { class: 'texture', fill: `url(#${id}-hidden)`, d }) +
    el('path', { class: 'hidden-edge', d: path(inner) })
  );
}

/** On straight lines between the points, all the way round. */
function elevationAt(horizon: readonly number[], azimuth: number): number {
  const n = horizon.length / 2;
  if (n === 0) return 0;
  const at = (i: number): [number, number] => [horizon[2 * i]!, horizon[2 * i + 1]!];
  let next = 0;
  while (next < n && at(next)[0] <= azimuth) next++;
  const [a2, e2] = at(next % n);
  const [a1, e1] = at((next + n - 1) % n);
  const gap = (a2 - a1 + 360) % 360 || 360;
  return e1 + (((azimuth - a1 + 360) % 360) / gap) * (e2 - e1);
}
