import {
  arrivalsOf,
  chosenHours,
  outagesOf,
  receiverFigures,
  satellitesOf,
  supplyOf,
  suspicionsOf,
  timeFaultsOf,
  type Arrivals,
  type Spans,
  type TrackedDays,
} from '@stillmark/analysis';
import { dutiesAt, type Project } from '@stillmark/project';
import {
  dayMs,
  formatInstant,
  type HealthRecord,
  type ReadingSeries,
  type StationHealth,
  type SupplyRecord,
  type TrackingRecord,
  type TrackingRow,
} from '@stillmark/records';
import type { Analysed } from './judge.ts';
import { primaryStream } from './project-settings.ts';
import { mannerOf } from './tracking-files.ts';

/** The present is told over a week, and set against the four weeks before; arrivals over thirty days, outages over ninety. */
const recentDays = 7;
const beforeDays = 28;
const arrivalDays = 30;
const outageDays = 90;

/** What receivers tracked: what can be told of it without positions. */
export interface TrackedHours {
  readonly rows: readonly TrackingRow[];
  readonly spans: Spans;
  readonly figures: ReadonlyMap<string, readonly TrackingRecord[]>;
}

/** @param tracking all rows of the last {@link trackingMs} */
export function trackedHours(
  project: Project,
  tracking: readonly TrackingRow[],
  untilMs: number,
): TrackedHours {
  const manners = new Map(project.tracking.map((t) => [t.name, mannerOf(t)]));
  const rows = chosenHours(tracking.filter(({ source, manner }) => manners.get(source) === manner));
  const spans: Spans = {
    recent: [untilMs - recentDays * dayMs, untilMs + 1],
    before: [untilMs - (recentDays + beforeDays) * dayMs, untilMs - recentDays * dayMs],
  };
  const known = satellitesOf(rows, spans.recent);
  const figures = new Map(
    project.stations.map(({ id }): [string, TrackingRecord[]] => {
      const own = rows.filter((r) => r.station === id);
      const found = [...new Set(own.map((r) => r.source))].sort().flatMap((source) => {
        const ofSource = own.filter((r) => r.source === source);
        return receiverFigures(ofSource, spans, known) ?? [];
      });
      return [id, found];
    }),
  );
  return { rows, spans, figures };
}

/** Whether the data of a project arrives, what receivers track, what everything hangs on, and what must be done. */
export function healthOf(
  project: Project,
  analysed: readonly Analysed[],
  readings: ReadonlyMap<string, ReadingSeries>,
  { rows, spans, figures }: TrackedHours,
  untilMs: number,
): HealthRecord {
  const lateMs = 2 * project.processingInterval;
  const arrivals = analysed.flatMap(({ view, analysis }): Arrivals[] =>
    analysis.data
      ? [
          {
            station: view.station.id,
            stream: view.stream.name,
            ...(view.stream.base === undefined ? {} : { base: view.stream.base }),
            timesMs: distinct(view.series.timesMs),
            spacingMs: analysis.data.spacingMs,
          },
        ]
      : [],
  );
  const supplies = suppliesOf(project, readings, untilMs);
  const outages = outagesOf(arrivals, project.shared, untilMs, lateMs, untilMs - outageDays * dayMs);
  const air = project.sensors.find(({ health }) => health?.kind === 'temperature');
  const airReadings = air && readings.get(air.name);
  return {
    recent: spanRecord(spans.recent),
    before: spanRecord(spans.before),
    shared: project.shared,
    stations: project.stations.map(({ id }): StationHealth => ({
      station: id,
      streams: arrivals.flatMap((view) =>
        view.station === id ? [arrivalsOf(view, untilMs, arrivalDays * dayMs, lateMs)] : [],
      ),
      tracking: figures.get(id) ?? [],
    })),
    outages,
    supplies,
    duties: dutiesAt(project.duties, untilMs),
    suspicions: suspicionsOf({
      rows,
      spans,
      up: upsOf(project, analysed),
      ...(air && airReadings
        ? { temperature: { sensor: air.name, unit: air.unit, readings: airReadings } }
        : {}),
      supplies,
      outages,
      asOfMs: untilMs,
    }),
    timeFaults: timeFaultsOf(arrivals, untilMs),
  };
}

/** For every station with a source of tracking: on which days it tracked each satellite, and on which the network did. */
export function trackedDays(
  seen: readonly { readonly station: string; readonly day: number; readonly satellites: string }[],
): Map<string, TrackedDays> {
  const network = new Map<string, Set<number>>();
  const stations = new Map<string, Map<string, Set<number>>>();
  for (const { station, satellites, day } of seen) {
    let own = stations.get(station);
    if (!own) stations.set(station, (own = new Map<string, Set<number>>()));
    for (const satellite of satellites.split(' ')) {
      if (satellite === '') continue;
      for (const days of [own, network]) {
        const known = days.get(satellite);
        if (known) known.add(day);
        else days.set(satellite, new Set([day]));
      }
    }
  }
  const sorted = (days: ReadonlyMap<string, ReadonlySet<number>>): Map<string, number[]> =>
    new Map([...days].map(([satellite, set]) => [satellite, [...set].sort((a, b) => a - b)]));
  const all = sorted(network);
  return new Map([...stations].map(([station, own]) => [station, { own: sorted(own), network: all }]));
}

/** What is told of the present needs the rows of so long before it. */
export const trackingMs = (recentDays + beforeDays + 1) * dayMs;

/** Two positions for one time are one arrival. */
function distinct(timesMs: Float64Array): Float64Array {
  return timesMs.filter((t, i) => i === 0 || t !== timesMs[i - 1]!);
}

function spanRecord([from, to]: readonly [number, number]): { from: string; to: string } {
  return { from: formatInstant(from), to: formatInstant(Math.floor(to / 1000) * 1000) };
}

function suppliesOf(
  project: Project,
  readings: ReadonlyMap<string, ReadingSeries>,
  untilMs: number,
): SupplyRecord[] {
  return project.sensors.flatMap(({ name, unit, health }): SupplyRecord[] => {
    if (!health || health.kind === 'temperature') return [];
    const limit = health.kind === 'data' ? health.plan : health.least;
    // The project file was checked when it was read.
    if (limit === undefined || health.of === undefined) throw new Error(`health of ${name}`);
    return [
      supplyOf({
        sensor: name,
        of: health.of,
        kind: health.kind,
        unit,
        limit,
        ...(health.resets === undefined ? {} : { resets: health.resets }),
        readings: readings.get(name) ?? { timesMs: new Float64Array(0), values: new Float64Array(0) },
        asOfMs: untilMs,
      }),
    ];
  });
}

function upsOf(
  project: Project,
  analysed: readonly Analysed[],
): Map<string, { timesMs: Float64Array; up_mm: Float64Array }> {
  return new Map(
    analysed.flatMap(({ view, analysis }) =>
      analysis.series && primaryStream(project, view.station) === view.stream
        ? [[view.station.id, analysis.series.windows] as const]
        : [],
    ),
  );
}
