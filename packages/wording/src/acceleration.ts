import type { AccelerationRecord, StatementSettings } from '@stillmark/records';
import { t } from '@stillmark/words';
import { formatAzimuth, formatNumber, formatPercent, formatSize } from './numbers.ts';
import { formatSpan } from './times.ts';

/** A movement that grows faster, and never without what it is not. */
export function accelerationSentence(
  id: string,
  { axis, azimuthDeg, first_mm, last_mm, days, earliestDays, latestDays }: AccelerationRecord,
  settings: StatementSettings,
): string {
  const way =
    axis === 'up' ? (last_mm < 0 ? t` down` : t` up`) : t` toward ${formatAzimuth(azimuthDeg ?? 0)}`;
  const whole = (value: number): string => formatNumber(value, value < 10 ? 1 : 0);
  const interval =
    latestDays === undefined
      ? t`from ${whole(earliestDays)} days on, without an end that the data could set`
      : t`${whole(earliestDays)} to ${whole(latestDays)} days`;
  return t`${id} moves faster and faster: over the last ${formatSpan(settings.rateMs)} from ${formatSize(Math.abs(first_mm))} to ${formatSize(Math.abs(last_mm))} in 30 days${way}. The inverse of its velocity, if it went on falling as it does, would reach zero ${whole(days)} days after the newest mean (${formatPercent(settings.confidence)}: ${interval}). That is no forecast: such lines have bent both ways, movements have come to rest and slopes have failed before. The responsible engineer must know of it now.`;
}
