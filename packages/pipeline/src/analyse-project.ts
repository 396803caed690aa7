import { join } from 'node:path';
import { dayMs, formatInstant, type ReadingSeries, type SensorRecord } from '@stillmark/records';
import type { Effects } from './effects.ts';
import type { Analysed } from './judge.ts';
import {
  openCommitments,
  openResponses,
  referenceFile,
  responseFile,
  storeFolder,
  type ProjectFolder,
} from './project-folder.ts';
import { rememberIn, type MemoryPlace } from './memory.ts';
import { trackedDays, trackedHours, trackingMs, type TrackedHours } from './health.ts';
import { analysisOf, viewsOf, type View } from './views.ts';

/** Every station in every stream that has epochs of it, as far as each can be looked at by itself. */
export interface AnalysedProject {
  readonly until: number;
  readonly analysed: Analysed[];
  readonly sensors: SensorRecord[];
  readonly readings: Map<string, ReadingSeries>;
  readonly tracking: TrackedHours;
  /** What a person has committed, by the name of its file. */
  readonly texts: Readonly<Record<string, string | undefined>>;
}

/**
 * Analyses all epochs up to an as-of time (the newest epoch where it is not given).
 *
 * @returns undefined where the store holds no epochs and nothing is said of the time
 */
export async function analyseProject(
  opened: ProjectFolder,
  asOfMs: number | undefined,
  { files, progress, threads, memory }: Effects,
): Promise<AnalysedProject | undefined> {
  const { project, store } = opened;
  const { entries: commitments, text: referenceText } = await openCommitments(opened, files);
  const { entries: responses, text: responseText } = await openResponses(opened, files);
  const until = asOfMs ?? (await store.newest());
  if (until === undefined) return undefined;
  threads?.start();
  progress(`reading epochs up to ${formatInstant(until)}`);
  // Reference periods that are committed, and the weeks of which one may be.
  const periods = commitments.map(({ from, to }) => [Date.parse(from) - dayMs, Date.parse(to)] as const);
  const [epochs, { sensors, readings }, seen] = await Promise.all([
    store.read(until),
    sensorsOf(opened, until),
    seenIn(opened, [...periods, [until - openPeriodMs, until]]),
  ]);
  const tracked = trackedDays(seen);
  const views = viewsOf(project, epochs, { commitments, responses, tracked }, until);
  const say = ({ station, stream }: View): void => progress(`computing ${station.id} in ${stream.name}`);
  const place = memoryOf(opened, memory);
  const analyse = analysisOf(project, until, readings, place && rememberIn(place));
  const computing = threads
    ? threads.analyse(views, { project, asOfMs: until, readings, ...(place ? { memory: place } : {}) }, say)
    : Promise.resolve(
        views.map((view) => {
          say(view);
          return analyse(view);
        }),
      );
  // Read, and looked at, while threads compute: no analysis of a station asks for it.
  const [analyses, tracking] = await Promise.all([
    computing,
    opened.tracking.read(until - trackingMs, until).then((rows) => trackedHours(project, rows, until)),
  ]);
  return {
    until,
    analysed: views.map((view, i): Analysed => ({ view, analysis: analyses[i]! })),
    sensors,
    readings,
    tracking,
    texts: { [referenceFile]: referenceText, [responseFile]: responseText },
  };
}

/** What was computed before is kept with the store, and may be thrown away at any time. */
export function memoryOf(
  { folder }: Pick<ProjectFolder, 'folder'>,
  memory: Effects['memory'],
): MemoryPlace | undefined {
  return memory && { folder: join(folder, storeFolder, 'computed'), code: memory.code };
}

/** An open reference period is looked at over so long (`newestWeeksMs` of the analysis is shorter). */
const openPeriodMs = 60 * dayMs;

/** Satellites that were tracked in some spans, which may overlap. */
async function seenIn(
  { tracking }: Pick<ProjectFolder, 'tracking'>,
  spans: readonly (readonly [number, number])[],
): Promise<Awaited<ReturnType<ProjectFolder['tracking']['seen']>>> {
  const joined: [number, number][] = [];
  for (const [from, to] of [...spans].sort((a, b) => a[0] - b[0])) {
    const last = joined.at(-1);
    if (last && from <= last[1]) last[1] = Math.max(last[1], to);
    else joined.push([from, to]);
  }
  return (await Promise.all(joined.map(([from, to]) => tracking.seen(from, to)))).flat();
}

async function sensorsOf(
  { project, readings: store }: ProjectFolder,
  untilMs: number,
): Promise<{ sensors: SensorRecord[]; readings: Map<string, ReadingSeries> }> {
  const sensors: SensorRecord[] = [];
  const readings = new Map<string, ReadingSeries>();
  const read = await store.read(untilMs);
  for (const { name, what, unit } of project.sensors) {
    const series = read.get(name);
    const n = series?.timesMs.length ?? 0;
    if (series) readings.set(name, series);
    sensors.push({
      name,
      what,
      unit,
      readings: n,
      ...(series
        ? {
            first: formatInstant(series.timesMs[0]!),
            last: formatInstant(series.timesMs[n - 1]!),
            series: `readings/${name}.parquet`,
            script: `readings/${name}.js`,
          }
        : {}),
    });
  }
  return { sensors, readings };
}
