/** One pixel column of a figure: the least and the greatest value in it. */
export interface PixelColumn {
  readonly x: number;
  low: number;
  high: number;
}

/**
 * Long series as columns, one for each pixel that holds a value: from the least to the greatest y in it. A year then weighs
 * no more than a week, and no extreme is lost.
 *
 * @param low values of y from here on ...
 * @param high ... or beyond here are not drawn
 */
export function pixelColumns(
  n: number,
  x: (i: number) => number,
  y: (i: number) => number,
  [low, high]: readonly [number, number],
): PixelColumn[] {
  const columns: PixelColumn[] = [];
  for (let i = 0; i < n; i++) {
    const value = y(i);
    if (!(value >= low && value <= high)) continue;
    const px = Math.round(x(i));
    const last = columns.at(-1);
    if (last?.x === px) {
      last.low = Math.min(last.low, value);
      last.high = Math.max(last.high, value);
    } else columns.push({ x: px, low: value, high: value });
  }
  return columns;
}

/** Strokes told by their differences, which compress to half of what places do. */
export class Pen {
  #d = '';
  #x = Number.NaN;
  #y = Number.NaN;

  /** A stroke from one place to another; a dot where they are the same. */
  stroke(x0: number, y0: number, x1: number, y1: number): void {
    const [ax, ay, bx, by] = [x0, y0, x1, y1].map(tenth) as [number, number, number, number];
    if (Number.isNaN(this.#x)) this.#d += `M${ax}${signed(ay)}`;
    else if (ax !== this.#x || ay !== this.#y)
      this.#d += `m${tenth(ax - this.#x)}${signed(tenth(ay - this.#y))}`;
    if (bx === ax) this.#d += by === ay ? 'h0' : `v${tenth(by - ay)}`;
    else this.#d += `l${tenth(bx - ax)}${signed(tenth(by - ay))}`;
    [this.#x, this.#y] = [bx, by];
  }

  get path(): string {
    return this.#d;
  }
}

/** A line from point to point, broken where the pen is lifted, told by differences as {@link Pen} tells strokes. */
export class Trace {
  #d = '';
  #x = Number.NaN;
  #y = Number.NaN;

  to(x: number, y: number): void {
    const [px, py] = [tenth(x), tenth(y)];
    this.#d += Number.isNaN(this.#x)
      ? `M${px}${signed(py)}`
      : `l${tenth(px - this.#x)}${signed(tenth(py - this.#y))}`;
    [this.#x, this.#y] = [px, py];
  }

  /** The next point begins a line of its own. */
  lift(): void {
    this.#x = Number.NaN;
  }

  get path(): string {
    return this.#d;
  }
}

const tenth = (v: number): number => Math.round(10 * v) / 10 + 0;
const signed = (v: number): string => (v < 0 ? String(v) : ` ${v}`);

/** The columns as strokes; a column of one value is a dot. */
export function columnStrokes(columns: readonly PixelColumn[]): string {
  const pen = new Pen();
  for (const { x, low, high } of columns) pen.stroke(x, Math.round(low), x, Math.round(high));
  return pen.path;
}

/**
 * The area between two lines, broken where a point is missing, told by differences as {@link Pen} tells strokes.
 *
 * @param digits of pixels
 */
export function areaPath(
  points: readonly ({ readonly x: number; readonly top: number; readonly foot: number } | undefined)[],
  digits: 0 | 1,
): string {
  const scale = 10 ** digits;
  const at = (v: number): number => Math.round(scale * v);
  const told = (v: number): number => v / scale + 0;
  let d = '';
  let run: [x: number, top: number, foot: number][] = [];
  const close = (): void => {
    if (run.length === 0) return;
    const corners = [
      ...run.map(([x, top]) => [x, top] as const),
      ...run.toReversed().map(([x, , foot]) => [x, foot] as const),
    ];
    const [first] = corners;
    d += `M${told(first![0])}${signed(told(first![1]))}`;
    for (let i = 1; i < corners.length; i++) {
      const [dx, dy] = [0, 1].map((k) => corners[i]![k]! - corners[i - 1]![k]!) as [number, number];
      if (dx !== 0 || dy !== 0) d += dx === 0 ? `v${told(dy)}` : `l${told(dx)}${signed(told(dy))}`;
    }
    d += 'z';
    run = [];
  };
  for (const p of points) {
    if (p) run.push([at(p.x), at(p.top), at(p.foot)]);
    else close();
  }
  close();
  return d;
}

/** One mark for each pixel cell that holds a value. */
export function cellPath(
  n: number,
  keep: (i: number) => boolean,
  x: (i: number) => number,
  y: (i: number) => number,
  [low, high]: readonly [number, number],
): string {
  const seen = new Set<string>();
  for (let i = 0; i < n; i++) {
    const value = keep(i) ? y(i) : Number.NaN;
    if (value >= low && value <= high) seen.add(`M${Math.round(x(i))} ${Math.round(value)}h0`);
  }
  return [...seen].join('');
}

/** Dots at whole pixels, each once: told from left to right by their differences, which compress to a third of what places do. */
export function dotsPath(dots: Iterable<readonly [x: number, y: number]>): string {
  const seen = new Map<number, [number, number]>();
  for (const [x, y] of dots) {
    const [px, py] = [Math.round(x), Math.round(y)];
    seen.set(px * 10_000 + py, [px, py]);
  }
  const pen = new Pen();
  for (const [, [x, y]] of [...seen].sort(([a], [b]) => a - b)) pen.stroke(x, y, x, y);
  return pen.path;
}
