import { spectrum } from '@stillmark/charts';
import type { StationRecord, TrajectoryRecord } from '@stillmark/records';
import { axisNames, t } from '@stillmark/words';
import { confidenceText, type Page } from './page.ts';

export function drawSpectrum(
  page: Page,
  { id }: StationRecord,
  { spectrum: of }: TrajectoryRecord,
  size: 'wide' | 'narrow',
): string {
  return spectrum({
    id: `spectrum-${size}`,
    width: size === 'wide' ? 880 : 360,
    title: t`Power of what the terms leave at ${id}`,
    description: t`Against the period, long periods on the left. Marks off the line are waves or noise of another kind than was fitted. The file snapshot.json holds every figure.`,
    panels: (['east', 'north', 'up'] as const).map((axis) => ({
      name: `${axisNames[axis]}, mm² d`,
      bands: of[axis],
    })),
    confidence: confidenceText(page.snapshot),
  });
}
