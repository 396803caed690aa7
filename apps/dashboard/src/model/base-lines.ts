import { baseLines } from '@stillmark/charts';
import type { StabilityRecord } from '@stillmark/records';
import { t } from '@stillmark/words';
import type { Page } from './page.ts';

export function drawBases(
  { clock }: Page,
  { days, series }: StabilityRecord,
  size: 'wide' | 'narrow',
): string {
  return baseLines({
    id: `bases-${size}`,
    width: size === 'wide' ? 880 : 360,
    title: t`Movements of the bases among each other`,
    description: t`Each base against the mean of those that stand still, day by day. The table below holds the figures of today.`,
    zone: clock,
    timesMs: days.map(({ at }) => Date.parse(at)),
    bases: series.map(({ id, ...columns }) => ({
      name: id,
      ...columns,
      accused: days.map(({ accused }) => accused.includes(id)),
    })),
  });
}
