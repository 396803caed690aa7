import { join } from 'node:path';
import { besideSeries } from '@stillmark/analysis';
import { fail, warning, type Problem } from '@stillmark/problems';
import {
  formatInstant,
  type InputRecord,
  type SiteView,
  type Snapshot,
  type StationRecord,
  type StationSeries,
  type StreamView,
} from '@stillmark/records';
import { ellipseOverInterval } from '@stillmark/planning';
import { untiedChanges } from '@stillmark/project';
import { baseOf, doubtedBases } from '@stillmark/wording';
import { readBackgroundOf } from './background.ts';
import { alarmLoadOf } from './alarm-load.ts';
import { openUpToDate } from './remote-store.ts';
import { stabilityOfProject } from './stability.ts';
import { analyseProject, memoryOf } from './analyse-project.ts';
import { rememberIn } from './memory.ts';
import type { View } from './views.ts';
import {
  describeStation,
  describeStream,
  originRecord,
  projectRecord,
  referenceRecord,
  seriesPaths,
} from './describe.ts';
import type { Effects, Producer } from './effects.ts';
import { evidenceOf } from './evidence.ts';
import {
  heightsOf,
  judgeResponses,
  judgeTrajectories,
  judgeViews,
  linesOf,
  longitudinalOf,
  type Analysed,
} from './judge.ts';
import { healthOf } from './health.ts';
import { planOf } from './plan.ts';
import { ProjectGrid } from './map-grid.ts';
import { readOutlineOf } from './outline.ts';
import { hashOf, mapOrigin, projectFile, sha256, storeFolder, type ProjectFolder } from './project-folder.ts';
import { primaryStream, settingsOf } from './project-settings.ts';
import { triggerStates } from './triggers.ts';

/**
 * Everything that can be stated of a project from all epochs up to an as-of time.
 *
 * @param asOfMs the newest epoch where it is not given; never the clock. With it, a store without epochs has a state too: what is planned.
 * @throws STORE_EMPTY where the store holds no epochs and no time is given
 */
export async function computeState(
  folder: string,
  asOfMs: number | undefined,
  producer: Producer,
  effects: Effects,
): Promise<SiteView> {
  return stateOf(await openUpToDate(folder, effects), asOfMs, producer, effects);
}

/** The same of a project that is open. */
export async function stateOf(
  opened: ProjectFolder,
  asOfMs: number | undefined,
  producer: Producer,
  effects: Effects,
): Promise<SiteView> {
  const { files } = effects;
  const { project } = opened;
  const { outline, sha256: outlineHash } = await readOutlineOf(opened, files);
  const background = await readBackgroundOf(opened, files);
  const all = await analyseProject(opened, asOfMs, effects);
  if (!all)
    return fail('STORE_EMPTY', 'the store holds no epochs', {
      at: { file: join(opened.folder, storeFolder) },
      hint: '`stillmark ingest` first, or `--as-of` with a date for the site of what is planned',
    });
  const { until, analysed, sensors, readings, tracking, texts } = all;
  const place = memoryOf(opened, effects.memory);
  const remember = place && rememberIn(place);
  const grid = ProjectGrid.of(project);
  const changed = analysed.flatMap(({ view }) => changedEvidence(view));
  const statements = judgeViews(opened, analysed, remember);
  const trajectories = judgeTrajectories(opened, analysed, remember);
  const responsesJudged = judgeResponses(opened, analysed, remember);
  const stability = stabilityOfProject(opened, analysed, until, remember);

  const origin = mapOrigin(opened);
  const series = new Map<string, StationSeries>();
  const viewRecord = ({ view, analysis }: Analysed): StreamView => {
    const paths = seriesPaths(view, analysis.series);
    const ontoWindows = stability.ontoWindows.get(view);
    if (analysis.series)
      series.set(
        paths.windows,
        ontoWindows
          ? besideSeries(analysis.series, 'Onto', ontoWindows, longitudinalOf(project))
          : analysis.series,
      );
    return {
      stream: describeStream(opened, view.station, view.stream),
      ...(analysis.data ? { data: analysis.data } : {}),
      ...(view.commitment ? { reference: referenceRecord(view.commitment) } : {}),
      statement: statements.get(view) ?? analysis.statement ?? { kind: 'no-data' },
      ties: analysis.ties,
      ...(analysis.readiness ? { readiness: analysis.readiness } : {}),
      ...(trajectories.has(view) ? { trajectory: trajectories.get(view)! } : {}),
      ...(analysis.acceleration ? { acceleration: analysis.acceleration } : {}),
      ...responsesJudged.get(view),
      ...(stability.onto.has(view) ? { ontoStable: stability.onto.get(view)! } : {}),
      ...(analysis.waves ? { waves: analysis.waves } : {}),
      ...untiedIn(project, view),
      ...(analysis.series ? { series: paths } : {}),
    };
  };
  const stations = project.stations.map((station): StationRecord => {
    const primary = primaryStream(project, station);
    const own = analysed.filter(({ view }) => view.station === station);
    const first = own.find(({ view }) => view.stream === primary);
    const commitment = (first ?? own[0])?.view.commitment;
    const described = describeStation(opened, station, origin, { grid, commitment });
    const others = own.filter((a) => a !== first).map(viewRecord);
    if (primary.base === station.id) return { ...described, statement: { kind: 'held' }, ties: [], others };
    if (first) return { ...described, ...viewRecord(first), others };
    const stream = describeStream(opened, station, primary);
    return { ...described, stream, statement: { kind: 'no-data' }, ties: [], others };
  });

  const network = {
    ...networkOf(opened, stations),
    ...stability.record,
    ...evidenceOf(opened, analysed, stability, until, remember),
  };
  const doubted = doubtedBases({ network, stations });
  const { triggers, doubts: unmatched } = triggerStates(opened, analysed, network, doubted, until, remember);
  const { plan, problems: planProblems } = await planOf(opened, stations, outline, analysed, until, effects);
  const tests = 2 * analysed.filter(({ view, analysis }) => isPrimary(view) && analysis.judged).length;
  const snapshot: Snapshot = {
    format: 'stillmark-snapshot',
    version: 1,
    producer,
    asOf: formatInstant(until),
    validUntil: formatInstant(until + 2 * project.processingInterval),
    project: projectRecord(project, grid),
    settings: settingsOf(project),
    headline: headlineOf(stations, tests, doubted),
    network,
    map: {
      origin: originRecord(origin),
      outline,
      ...(background.record ? { background: background.record } : {}),
    },
    stations,
    sensors,
    heights: heightsOf(opened, analysed),
    ...linesOf(opened, analysed, until),
    triggers,
    health: healthOf(project, analysed, readings, tracking, until),
    plan,
    alarmLoad: alarmLoadOf(project, analysed, until, remember),
    inputs: await inputsOf(opened, texts, outlineHash, background.inputs, files),
    doubts: [...changed, ...stations.flatMap(doubtsOf), ...unmatched, ...planProblems],
  };
  return {
    snapshot,
    ...(background.image ? { image: background.image } : {}),
    series,
    readings,
    ellipseOverInterval: ellipseOverInterval(snapshot.settings.confidence),
  };

  function isPrimary(view: View): boolean {
    return primaryStream(project, view.station) === view.stream;
  }
}

/** Changes of the processing since the reference period began that no event ties. */
function untiedIn(
  project: ProjectFolder['project'],
  { stream, commitment }: View,
): Pick<StreamView, 'untied'> {
  const untied = untiedChanges(project, stream)
    .filter(({ atMs }) => commitment && atMs > Date.parse(commitment.from))
    .map(({ atMs, what }) => ({ at: formatInstant(atMs), what }));
  return untied.length > 0 ? { untied } : {};
}

/** A commitment names its epochs by hash: where they are others now, somebody should look. */
function changedEvidence({ station, stream, commitment, series }: View): Problem[] {
  if (!commitment) return [];
  const end = Date.parse(commitment.to);
  // An epoch at the very end lies in the next window, and in no figure: it may have been there, or have come since.
  if ([end, end - 1].some((until) => hashOf(series, until) === commitment.evidence.store)) return [];
  return [
    warning(
      'REFERENCE_PERIOD',
      `${station.id} in stream ${stream.name}: the epochs up to the end of the reference period are not those from which the reference position was committed`,
      { hint: 'to look at what was delivered since, and to commit again where it matters' },
    ),
  ];
}

/** A station whose base is in doubt is told from the bases that stand still, or not at all. */
function headlineOf(
  stations: readonly StationRecord[],
  tests: number,
  doubted: readonly string[],
): Snapshot['headline'] {
  const monitoring = stations.filter((s) => s.role === 'monitoring');
  const inDoubt = (s: StationRecord): boolean => {
    const base = baseOf(s);
    const byBase = base !== undefined && doubted.includes(base);
    return s.statement.kind === 'displacement' && (byBase || s.untied !== undefined);
  };
  const moved = (s: StationRecord): boolean => {
    if (lost(s)) return false;
    const told = inDoubt(s) ? s.ontoStable : s.statement.kind === 'displacement' ? s.statement : undefined;
    return told !== undefined && (told.horizontal.distinguishable || told.up.distinguishable);
  };
  const ids = (keep: (s: StationRecord) => boolean): string[] => monitoring.filter(keep).map((s) => s.id);
  const lost = (s: StationRecord): boolean => inDoubt(s) && (!s.ontoStable || s.untied !== undefined);
  return {
    moved: ids(moved),
    still: ids((s) => s.statement.kind === 'displacement' && !moved(s) && !lost(s)),
    open: ids((s) => s.statement.kind !== 'displacement'),
    doubted: ids(lost),
    tests,
  };
}

function networkOf(
  { project }: ProjectFolder,
  stations: readonly StationRecord[],
): Pick<Snapshot['network'], 'held' | 'pairs'> {
  const pairs: { held: string; seen: string; stream: string }[] = [];
  for (const { name, base } of project.streams) {
    if (base === undefined) continue;
    for (const station of stations) {
      const seen = [station, ...station.others].some(({ stream }) => stream?.name === name);
      if (station.role !== 'base' || station.id === base || !seen) continue;
      const known = pairs.some(
        (p) => (p.held === base && p.seen === station.id) || (p.held === station.id && p.seen === base),
      );
      if (!known) pairs.push({ held: base, seen: station.id, stream: name });
    }
  }
  const held = project.streams.flatMap(({ base }) => (base === undefined ? [] : [base]));
  return { held: [...new Set(held)], pairs };
}

function doubtsOf(station: StationRecord): Problem[] {
  const views: readonly StreamView[] = [station, ...station.others];
  const name = (view: StreamView): string =>
    station.others.length > 0 && view.stream ? `${station.id} in stream ${view.stream.name}` : station.id;
  return views.flatMap((view) => {
    const { data } = view;
    if (!data) return [];
    const doubts: Problem[] = [];
    if (data.conflicts > 0)
      doubts.push(
        warning(
          'STORE_CONFLICT',
          `${name(view)}: ${data.conflicts} epochs have two different positions for one time; none of them is used`,
        ),
      );
    for (const change of view.trajectory?.changes ?? [])
      if (change.kind === 'step')
        doubts.push(
          warning(
            'INPUT_POSITION',
            `${name(view)}: a step about ${change.at.slice(0, 10)} that no event names`,
            { hint: 'an event in project.yaml with its kind, where somebody knows what happened' },
          ),
        );
    for (const run of data.unconfirmed) {
      doubts.push(
        warning(
          'INPUT_POSITION',
          `${name(view)}: ${run.epochs} epochs in a row from ${run.from} to ${run.to} deviate from those around them; perhaps a step, not confirmed`,
        ),
      );
    }
    return doubts;
  });
}

async function inputsOf(
  opened: ProjectFolder,
  committed: Readonly<Record<string, string | undefined>>,
  outlineHash: string | undefined,
  background: readonly InputRecord[],
  files: Effects['files'],
): Promise<InputRecord[]> {
  const { text, store, readings, tracking, folder, project } = opened;
  const inputs: InputRecord[] = [{ path: projectFile, sha256: sha256(text) }];
  for (const [path, own] of Object.entries(committed))
    if (own !== undefined) inputs.push({ path, sha256: sha256(own) });
  if (project.outline !== undefined && outlineHash !== undefined)
    inputs.push({ path: project.outline, sha256: outlineHash });
  inputs.push(...background);
  for (const table of [store, readings, tracking]) {
    const partitions = await table.partitions();
    const rows = await table.rowCounts(partitions);
    for (const [i, partition] of partitions.entries()) {
      const path = `${storeFolder}/${partition.path}`;
      inputs.push({ path, sha256: sha256((await files.read(join(folder, path)))!), rows: rows[i]! });
    }
  }
  return inputs;
}
