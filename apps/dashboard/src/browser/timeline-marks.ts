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

/** Marks from the path of a timeline's windows: `M x y h0` is a dot, `M x y V y` a column. */
export function marksOf(path: string): Mark[] {
  return Array.from(path.matchAll(/M(-?[\d.]+) (-?[\d.]+)(?:V(-?[\d.]+)|h0)/g), ([, x, y, to]) => {
    const [a, b] = [Number(y), Number(to ?? y)];
    return { x: Number(x), low: Math.max(a, b), high: Math.min(a, b) };
  }).sort((a, b) => a.x - b.x);
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
  return `${panel.name} ${low === high ? low : t`${low} to ${high}`}\u202fmm`;
}
