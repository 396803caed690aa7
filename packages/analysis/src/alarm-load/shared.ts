import { axes } from '../topocentric-series.ts';
import { windowsWithin, type WindowSeries } from '../windows.ts';

/** With equal noise of all antennas half of the variance of each station is that of its base. */
export const usualShare = 0.5;
const leastCommon = 28;

/**
 * What share of their variance stations of one base have in common: the mean correlation of their means of the same time in their reference
 * periods, over all pairs and axes, between 0 and 0.95.
 *
 * @returns {@link usualShare} where no two stations have four weeks of a mean a day in common
 */
export function sharedVariance(
  stations: readonly {
    readonly windows: WindowSeries;
    readonly reference: { readonly fromMs: number; readonly toMs: number };
  }[],
): number {
  let [sum, count] = [0, 0];
  const columns = stations.map(({ windows, reference }) => {
    const { from, to } = windowsWithin(windows, reference.fromMs, reference.toMs);
    return {
      windows,
      from,
      places: new Map(Array.from(windows.slot.subarray(from, to), (s, i) => [s, from + i])),
    };
  });
  columns.forEach((a, i) =>
    columns.slice(i + 1).forEach((b) => {
      const common = [...a.places].flatMap(([slot, k]) => {
        const other = b.places.get(slot);
        return other === undefined ? [] : [[k, other] as const];
      });
      if (common.length < leastCommon) return;
      for (const axis of axes) {
        sum += correlation(
          common.map(([k]) => a.windows[axis][k]!),
          common.map(([, k]) => b.windows[axis][k]!),
        );
        count++;
      }
    }),
  );
  return count === 0 ? usualShare : Math.min(0.95, Math.max(0, sum / count));
}

function correlation(x: readonly number[], y: readonly number[]): number {
  const mean = (v: readonly number[]): number => v.reduce((s, a) => s + a, 0) / v.length;
  const [mx, my] = [mean(x), mean(y)];
  let [xx, xy, yy] = [0, 0, 0];
  x.forEach((v, i) => {
    xx += (v - mx) ** 2;
    yy += (y[i]! - my) ** 2;
    xy += (v - mx) * (y[i]! - my);
  });
  return xx > 0 && yy > 0 ? xy / Math.sqrt(xx * yy) : 0;
}
