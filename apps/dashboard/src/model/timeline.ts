import { timeline } from '@stillmark/charts';
import type { EventRecord, StationRecord } from '@stillmark/records';
import { stationSentence } from '@stillmark/wording';
import { confidenceText, type Page } from './page.ts';

/** Events that concern a station: its own, and those of the whole site. Numbered as on its figure. */
export function eventsOf(
  { snapshot }: Page,
  station: StationRecord,
): (EventRecord & { readonly number: number })[] {
  return snapshot.project.events
    .filter((event) => event.station === undefined || event.station === station.id)
    .map((event, i) => ({ ...event, number: i + 1 }));
}

export function drawTimeline(page: Page, station: StationRecord, size: 'wide' | 'narrow'): string {
  const series = page.view.series.get(station.id)!;
  const { statement, reference } = station;
  const first = series.epochs.timesMs[0] ?? 0;
  const last = series.epochs.timesMs.at(-1) ?? 0;
  const span = (s: { from: string; to: string }): { fromMs: number; toMs: number } => ({
    fromMs: Date.parse(s.from),
    toMs: Date.parse(s.to),
  });
  return timeline({
    id: `timeline-${size}`,
    width: size === 'wide' ? 880 : 360,
    title: `Position of ${station.id} against time`,
    description: `East, north and up in millimetres from ${reference ? 'the reference position' : 'the mean of the series'}. ${stationSentence(station, page.snapshot.settings, page.clock)}`,
    series,
    windowMs: page.snapshot.settings.windowMs,
    zone: page.clock,
    confidence: confidenceText(page.snapshot),
    ...(reference ? { reference: span(reference) } : {}),
    ...(statement.kind === 'displacement' ? { present: span(statement.window) } : {}),
    events: eventsOf(page, station)
      .map(({ at, number }) => ({ timeMs: Date.parse(at), number }))
      .filter(({ timeMs }) => timeMs >= first && timeMs <= last),
  });
}
