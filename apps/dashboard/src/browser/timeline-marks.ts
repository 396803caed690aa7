import { localDigits, t } from '@stillmark/words';
/** A mark of a drawn timeline: the values of one window, or of the windows that share a pixel. Pixels of the drawing. */
export interface Mark {
  readonly x: number;
  readonly low: number;
  readonly high: number;
}

/** A panel of a drawn timeline, as its data attributes tell it. */
export interface Panel {
  readonly name: string;
  readonly marks: readonly Mark[];
  /** Pixel of zero, and pixels for a millimetre upward. */
  readonly zero: number;
  readonly pxPerMm: number;
}

/** Marks from the path of a timeline's windows: places (`M`, or `m` from where the last mark ended), each with a column (`v`) or a dot (`h0`). */
export function marksOf(path: string): Mark[] {
  let [x, y] = [0, 0];
  const marks: Mark[] = [];
  for (const [, move, a, b, column] of path.matchAll(/([Mm])(-?[\d.]+) ?(-?[\d.]+)(?:v(-?[\d.]+)|h0)/g)) {
    [x, y] = move === 'M' ? [Number(a), Number(b)] : [x + Number(a), y + Number(b)];
    const to = y + Number(column ?? 0);
    marks.push({ x, low: Math.max(y, to), high: Math.min(y, to) });
    y = to;
  }
  return marks.sort((p, q) => p.x - q.x);
}

/** The mark nearest to an x, where one is within `reach`. */
export function nearestMark(marks: readonly Mark[], x: number, reach: number): Mark | undefined {
  let best: Mark | undefined;
  for (const mark of marks) if (!best || Math.abs(mark.x - x) < Math.abs(best.x - x)) best = mark;
  return best && Math.abs(best.x - x) <= reach ? best : undefined;
}

/** `downstream 12.3 mm`, or `downstream 11.9 to 13.1 mm` where a pixel holds several means. */
export function readingOf(panel: Panel, mark: Mark): string {
  const mm = (y: number): string => {
    const value = ((panel.zero - y) / panel.pxPerMm).toFixed(1);
    return localDigits(value === '-0.0' ? '0.0' : value.replace('-', '\u2212'));
  };
  const [low, high] = [mm(mark.low), mm(mark.high)];
  const { name } = panel;
  return low === high ? t`${name} ${low}\u202fmm` : t`${name} ${low} to ${high}\u202fmm`;
}
