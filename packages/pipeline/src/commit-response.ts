import { fitResponse, prepare, responseWindows, type FittedResponse } from '@stillmark/analysis';
import { TopocentricFrame } from '@stillmark/geodesy';
import { fail, ProblemError } from '@stillmark/problems';
import {
  responseModels,
  type CommittedResponse,
  type Commitment,
  type Station,
  type Stream,
} from '@stillmark/project';
import { formatInstant, type EpochSeries, type ReadingSeries } from '@stillmark/records';
import { responseCheckText } from '@stillmark/wording';
import { checkEntry, committable, ofEachStation, type CommitTask } from './commit.ts';
import type { Effects } from './effects.ts';
import {
  appendCommitted,
  hashOf,
  openCommitments,
  openResponses,
  responseFile,
  sha256,
  type ProjectFolder,
} from './project-folder.ts';
import { inProjectFrame } from './project-frame.ts';
import { knownStepsOf, settingsOf, stepsOf } from './project-settings.ts';
import { openUpToDate } from './remote-store.ts';
import { epochsOf } from './succession.ts';
import { covariatesOf, modelEntry } from './responses.ts';

/**
 * Commits what logs do to stations, learnt from a span of time, in every stream in which their reference position is committed:
 * appends it, frozen, to `response-models.yaml`, all or none.
 *
 * @throws REFERENCE_STATION, REFERENCE_PERIOD where a station, its logs or the span cannot serve
 */
export async function commitResponse(
  folder: string,
  task: CommitTask,
  effects: Effects,
): Promise<CommittedResponse[]> {
  const { files, progress } = effects;
  const opened = await openUpToDate(folder, effects);
  const { project, store, readings: logStore } = opened;
  const { entries: positions } = await openCommitments(opened, files);
  await openResponses(opened, files);
  if (!(task.toMs > task.fromMs))
    fail('REFERENCE_PERIOD', 'the span ends before it begins', { hint: '--from before --to' });
  const stations = [...new Set(task.stations)].map((id) => committable(project, id));
  const named = project.sensors.filter(({ response }) => response);
  if (named.length === 0)
    fail('REFERENCE_PERIOD', 'no sensor of project.yaml says that it may move the structure', {
      hint: 'response: { longestLag: 10 d } at a sensor',
    });

  progress(`reading epochs up to ${formatInstant(task.toMs)}`);
  const epochs = await store.read(task.toMs);
  const logs = await logStore.read(task.toMs);
  // Those alone go into the evidence.
  const readings = new Map(named.flatMap(({ name }) => (logs.has(name) ? [[name, logs.get(name)!]] : [])));

  const committed = ofEachStation(stations, progress, (station) =>
    responsesOf(opened, task, station, { epochs, readings, positions }),
  );
  await appendCommitted(opened, responseModels, responseFile, committed, files);
  return committed;
}

interface Found {
  readonly epochs: ReadonlyMap<string, ReadonlyMap<string, EpochSeries>>;
  readonly readings: ReadonlyMap<string, ReadingSeries>;
  readonly positions: readonly Commitment[];
}

function responsesOf(
  opened: ProjectFolder,
  task: CommitTask,
  station: Station,
  { epochs, readings, positions }: Found,
): CommittedResponse[] {
  const committed = opened.project.streams.flatMap((stream): CommittedResponse[] => {
    const series =
      stream.base === station.id ? undefined : epochsOf(opened.project, station.id, epochs.get(stream.name));
    const position = positions.findLast((c) => c.station === station.id && c.stream === stream.name);
    return series && position
      ? [responseOf(opened, task, { station, stream, series, position, readings })]
      : [];
  });
  if (committed.length === 0)
    fail(
      'REFERENCE_STATION',
      `of ${station.id} no reference position is committed: nothing is there to be corrected`,
      {
        hint: '`stillmark commit` first',
      },
    );
  return committed;
}

function responseOf(
  { project, ellipsoid }: ProjectFolder,
  task: CommitTask,
  view: {
    readonly station: Station;
    readonly stream: Stream;
    readonly series: EpochSeries;
    readonly position: Commitment;
    readonly readings: ReadonlyMap<string, ReadingSeries>;
  },
): CommittedResponse {
  const { station, stream, series, position, readings } = view;
  const where = `${station.id}${project.streams.length > 1 ? ` in stream ${stream.name}` : ''}`;
  const settings = settingsOf(project);
  const prepared = prepare({
    series: inProjectFrame(project, stream, series),
    frame: TopocentricFrame.at(ellipsoid, position.position),
    settings,
    steps: stepsOf(project, station.id, stream),
  });
  const missing = project.sensors.find(
    ({ name, response }) => response && (readings.get(name)?.timesMs.length ?? 0) === 0,
  );
  if (missing)
    fail(
      'REFERENCE_PERIOD',
      `the store holds no readings of ${missing.what} up to ${formatInstant(task.toMs)}`,
      {
        hint: '`stillmark ingest` first, or no response at this sensor',
      },
    );
  let fitted: FittedResponse;
  try {
    fitted = fitResponse({
      windows: responseWindows(prepared, project.response.means),
      events: knownStepsOf(project, station.id, stream),
      covariates: covariatesOf(project, readings),
      fromMs: task.fromMs,
      toMs: task.toMs,
      seasons: project.response.seasons,
      confidence: settings.confidence,
    });
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return fail(
      'REFERENCE_PERIOD',
      `the response of ${where} cannot be learnt: ${error.problems[0]!.message}`,
    );
  }
  const against = fitted.record.checks.filter(({ verdict }) => verdict !== 'pass').map(responseCheckText);
  if (against.length > 0 && task.despite === undefined)
    fail('REFERENCE_PERIOD', `the response of ${where} is not ready: ${against.join('; ')}`, {
      hint: 'a longer span; or --despite "reason", which is recorded and shown',
    });
  return {
    station: station.id,
    stream: stream.name,
    from: formatInstant(task.fromMs),
    to: formatInstant(task.toMs),
    by: task.by,
    committed: formatInstant(task.committedMs),
    ...(task.despite === undefined ? {} : { despite: task.despite }),
    model: modelEntry(fitted),
    evidence: {
      checks: fitted.record.checks.map(checkEntry),
      store: hashOf(series, task.toMs),
      logs: sha256(
        [...readings]
          .map(([name, { timesMs, values }]) => `${name} ${hashOfColumns(timesMs, values)}`)
          .join('\n'),
      ),
    },
  };
}

function hashOfColumns(...columns: readonly Float64Array[]): string {
  return columns
    .map((column) => sha256(new Uint8Array(column.buffer, column.byteOffset, column.byteLength)))
    .join(' ');
}
