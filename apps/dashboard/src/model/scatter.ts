import { planScatter } from '@stillmark/charts';
import type { StationRecord, StreamView } from '@stillmark/records';
import { stationSentence } from '@stillmark/wording';
import { axisNames, t } from '@stillmark/words';
import { confidenceText, type Page } from './page.ts';

export function drawScatter(page: Page, station: StationRecord, view: StreamView): string {
  const { statement: s, reference } = view;
  const { axes } = page.snapshot.project;
  return planScatter({
    id: 'scatter',
    width: 400,
    title: t`Means of ${station.id} in plan`,
    description: t`North is up. ${stationSentence({ ...view, id: station.id, role: station.role }, page.snapshot.settings, page.clock)}`,
    windows: page.view.series.get(view.series!.windows)!.windows,
    confidence: confidenceText(page.snapshot),
    ...(reference
      ? { reference: { fromMs: Date.parse(reference.from), toMs: Date.parse(reference.to) } }
      : {}),
    ...(s.kind === 'displacement'
      ? {
          present: {
            east_mm: s.east_mm,
            north_mm: s.north_mm,
            distinguishable: s.horizontal.distinguishable,
            ellipse: s.horizontal.ellipse,
          },
        }
      : {}),
    ...(axes
      ? {
          direction: {
            azimuthDeg: (axes.longitudinalAzimuthDeg + 90) % 360,
            name: axes.transverse ?? axisNames.transverse,
          },
        }
      : {}),
  });
}
