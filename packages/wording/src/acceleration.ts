import type { AccelerationRecord, StatementSettings } from '@stillmark/records';
import { t } from '@stillmark/words';
import { formatAzimuth, formatNumber, formatPercent, formatSize, paragraph } from './numbers.ts';
import { formatSpan } from './times.ts';

/** A movement that grows faster, and never without what it is not. */
export function accelerationSentence(
  id: string,
  { axis, azimuthDeg, first_mm, last_mm, days, earliestDays, latestDays }: AccelerationRecord,
  settings: StatementSettings,
): string {
  const span = formatSpan(settings.rateMs);
  const [first, last] = [formatSize(Math.abs(first_mm)), formatSize(Math.abs(last_mm))];
  const whole = (value: number): string => formatNumber(value, value < 10 ? 1 : 0);
  const confidence = formatPercent(settings.confidence);
  return paragraph([
    axis !== 'up'
      ? t`${id} moves faster and faster: over the last ${span} from ${first} to ${last} in 30 days toward ${formatAzimuth(azimuthDeg ?? 0)}.`
      : last_mm < 0
        ? t`${id} moves faster and faster: over the last ${span} from ${first} to ${last} in 30 days down.`
        : t`${id} moves faster and faster: over the last ${span} from ${first} to ${last} in 30 days up.`,
    latestDays === undefined
      ? t`The inverse of its velocity, if it went on falling as it does, would reach zero ${whole(days)} days after the newest mean (${confidence}: from ${whole(earliestDays)} days on, without an end that the data could set).`
      : t`The inverse of its velocity, if it went on falling as it does, would reach zero ${whole(days)} days after the newest mean (${confidence}: ${whole(earliestDays)} to ${whole(latestDays)} days).`,
    t`That is no forecast: such lines have bent both ways, movements have come to rest and slopes have failed before. The responsible engineer must know of it now.`,
  ]);
}
