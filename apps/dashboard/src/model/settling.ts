import { settling } from '@stillmark/charts';
import type { ReadinessRecord } from '@stillmark/records';
import { t } from '@stillmark/words';

interface Row {
  readonly name: string;
  readonly readiness: ReadinessRecord;
}

/** The running means of all reference periods; undefined where none is long enough to be judged. */
export function drawSettling(rows: readonly Row[], size: 'wide' | 'narrow'): string | undefined {
  const shown = rows.filter(({ readiness }) => readiness.running.day.length > 1);
  const limitOf = (of: string): number =>
    shown.flatMap(({ readiness }) => readiness.checks.filter((c) => c.check === 'settled' && c.of === of))[0]
      ?.limit ?? 0;
  if (shown.length === 0 || limitOf('horizontal') === 0) return undefined;
  const panel = (name: string, of: 'horizontal' | 'up') => ({
    name,
    limit_mm: limitOf(of),
    lines: shown.map(({ name: own, readiness: { running, checks } }) => ({
      name: own,
      day: running.day,
      value_mm: of === 'up' ? running.up_mm : running.horizontal_mm,
      marked: checks.some((c) => c.check === 'settled' && c.of === of && c.verdict !== 'pass'),
    })),
  });
  return settling({
    id: `settling-${size}`,
    width: size === 'wide' ? 880 : 360,
    title: t`Running means of the reference periods`,
    description: t`How far the mean up to each day was from that of the whole period, against the days left to its end. Those that are not at rest are drawn in colour and named.`,
    panels: [panel(t`horizontal, mm`, 'horizontal'), panel(t`up, mm`, 'up')],
    restDays: 3,
  });
}
