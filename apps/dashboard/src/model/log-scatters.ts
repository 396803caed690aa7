import { logScatter } from '@stillmark/charts';
import type { CovariateRecord, ReadingSeries, StreamView } from '@stillmark/records';
import { formatSpan, paragraph } from '@stillmark/wording';
import { axisNames, localDigits, msg, plural, t } from '@stillmark/words';
import type { Page } from './page.ts';

export interface LogScatter {
  readonly id: string;
  readonly caption: string;
  readonly draw: () => string;
}

/** Readings further apart than this are not joined. */
const longestGapMs = 12 * 3_600_000;

/** Movement against each log, in the axis of which it explains most, at the lag that was found. */
export function logScatters(page: Page, view: StreamView): LogScatter[] {
  const { response, series } = view;
  const windows = series && page.view.series.get(series.windows)?.windows;
  if (!response || !windows) return [];
  return response.covariates.flatMap((covariate) => {
    const readings = page.view.readings.get(covariate.sensor);
    if (!readings) return [];
    const axis = (['east', 'north', 'up'] as const).reduce((a, b) =>
      covariate[b].share > covariate[a].share ? b : a,
    );
    const movements = windows[`${axis}_mm`];
    const [fromMs, toMs] = [Date.parse(response.from), Date.parse(response.to)];
    const learnt = (t: number): boolean => t >= fromMs && t < toMs;
    const pairs = meansOf(
      windows.timesMs,
      movements,
      (t) => (learnt(t) ? readingAt(readings, t - covariate.lagMs) : undefined),
      response.meansMs,
    );
    if (pairs.length < 2) return [];
    const { what, unit } = covariate;
    const slope = localDigits(covariate[axis].value_mm.toFixed(2));
    return [
      {
        id: `log-${covariate.sensor}`,
        caption: captionText(axisNames[axis], covariate, formatSpan(response.meansMs)),
        draw: () =>
          logScatter({
            id: `log-${covariate.sensor}`,
            width: 400,
            title: t`${axisNames[axis]} against ${what}`,
            description: plural(
              pairs.length,
              msg`${pairs.length} mean and the reading of its time; the fitted slope is ${slope} millimetres for one ${unit}.`,
              msg`${pairs.length} means and readings of their times; the fitted slope is ${slope} millimetres for one ${unit}.`,
            ),
            across: `${what}, ${unit}`,
            up: `mm ${axisNames[axis]}`,
            values: pairs.map(([value]) => value),
            movements_mm: pairs.map(([, mm]) => mm),
            slope_mm: covariate[axis].value_mm,
          }),
      },
    ];
  });
}

/** Means of movements and of the readings that belong to them, over whole spans. */
function meansOf(
  timesMs: Float64Array,
  movements: Float64Array,
  reading: (t: number) => number | undefined,
  spanMs: number,
): [number, number][] {
  const sums = new Map<number, [count: number, value: number, mm: number]>();
  timesMs.forEach((t, i) => {
    const value = reading(t);
    if (value === undefined || Number.isNaN(movements[i]!)) return;
    const [count, v, mm] = sums.get(Math.floor(t / spanMs)) ?? [0, 0, 0];
    sums.set(Math.floor(t / spanMs), [count + 1, v + value, mm + movements[i]!]);
  });
  return [...sums.values()].map(([count, v, mm]) => [v / count, mm / count]);
}

function captionText(axis: string, { what, lagMs }: CovariateRecord, span: string): string {
  return paragraph([
    lagMs === 0
      ? t`${axis} against ${what}, means over ${span}, in the span it was learnt from, as measured: nothing else is taken off.`
      : t`${axis} against ${what} ${Math.round(lagMs / 3_600_000)} h before, means over ${span}, in the span it was learnt from, as measured: nothing else is taken off.`,
    t`The line has the slope that was fitted together with everything else.`,
  ]);
}

function readingAt({ timesMs, values }: ReadingSeries, t: number): number | undefined {
  let [low, high] = [0, timesMs.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (timesMs[middle]! < t) low = middle + 1;
    else high = middle;
  }
  if (timesMs[low] === t) return values[low];
  if (low === 0 || low === timesMs.length || timesMs[low]! - timesMs[low - 1]! > longestGapMs)
    return undefined;
  const part = (t - timesMs[low - 1]!) / (timesMs[low]! - timesMs[low - 1]!);
  return values[low - 1]! + part * (values[low]! - values[low - 1]!);
}
