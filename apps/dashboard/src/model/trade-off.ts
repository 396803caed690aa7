import { tradeOff, type TradeOffPoint } from '@stillmark/charts';
import type { AlarmLoadRecord } from '@stillmark/records';
import { formatSpan } from '@stillmark/wording';
import { t } from '@stillmark/words';

/** What candidates cost against how late they find what must be found. */
export function drawTradeOff(load: AlarmLoadRecord, index: number, size: 'wide' | 'narrow'): string {
  const { candidates, requirement, recommended, nearest } = load;
  const windows = [...new Set(candidates.map(({ windowMs }) => windowMs))].toSorted((a, b) => a - b);
  const chosen = recommended ?? nearest;
  const points = (of: 'step' | 'ramp'): TradeOffPoint[] =>
    candidates.map((c, i): TradeOffPoint => {
      const days = c[of]?.nineMs;
      return {
        alarms: c.network,
        ...(days === undefined ? {} : { days: days / 86_400_000 }),
        shape: windows.indexOf(c.windowMs),
        filled: c.basis === 'confident',
        ...(c.trigger === undefined
          ? i === chosen
            ? { name: recommended === undefined ? t`nearest` : t`recommended` }
            : {}
          : { name: c.trigger }),
        recommended: i === chosen,
      };
    });
  const { step, ramp } = requirement;
  return tradeOff({
    id: `trade-off-${index}-${size}`,
    width: size === 'wide' ? 880 : 360,
    title: t`False alarms against delay`,
    description: t`Each mark is a candidate: false alarms in 30 days of the whole network against the days until a movement is found in nine of ten cases. The table holds the figures.`,
    panels: [
      ...(step
        ? [
            {
              name: t`days until ${step.size_mm} mm at once are found`,
              within: step.withinMs / 86_400_000,
              points: points('step'),
            },
          ]
        : []),
      ...(ramp
        ? [
            {
              name: t`days until ${Number(ramp.mm_day.toFixed(3))} mm a day are found`,
              within: ramp.withinMs / 86_400_000,
              points: points('ramp'),
            },
          ]
        : []),
    ],
    borne: requirement.falseAlarms,
    shapes: windows.map((ms) => t`means of ${formatSpan(ms)}`),
    none: t`none`,
  });
}
