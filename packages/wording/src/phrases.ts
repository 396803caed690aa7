import type { HorizontalStatement, UpStatement } from '@stillmark/records';
import { t } from '@stillmark/words';
import { formatAzimuth, formatNumber, formatWithUncertainty } from './numbers.ts';

/** `in 8 of 10 cases`. */
export function inCases(power: number): string {
  const tenths = power * 10;
  return Number.isInteger(Number(tenths.toFixed(6)))
    ? t`in ${Math.round(tenths)} of 10 cases`
    : t`in ${formatNumber(100 * power, 0)} of 100 cases`;
}

/** `6.2 mm ± 1.9 mm (95 %) toward 143°`; `sure` is what stands in the bracket. */
export function acrossText(
  h: Pick<HorizontalStatement, 'magnitude_mm' | 'plusMinus_mm' | 'azimuthDeg'>,
  sure?: string,
): string {
  const size = formatWithUncertainty(h.magnitude_mm, h.plusMinus_mm);
  const azimuth = formatAzimuth(h.azimuthDeg);
  return sure === undefined ? t`${size} toward ${azimuth}` : t`${size} (${sure}) toward ${azimuth}`;
}

/** `4.4 mm ± 3.9 mm (95 %) down`. */
export function verticalText(up: Pick<UpStatement, 'value_mm' | 'plusMinus_mm'>, sure?: string): string {
  const size = formatWithUncertainty(Math.abs(up.value_mm), up.plusMinus_mm);
  if (sure === undefined) return up.value_mm < 0 ? t`${size} down` : t`${size} up`;
  return up.value_mm < 0 ? t`${size} (${sure}) down` : t`${size} (${sure}) up`;
}
