import {
  analyseStation,
  forget,
  prepare,
  referenceEvidence,
  type Remember,
  type StationAnalysis,
  type TrackedDays,
} from '@stillmark/analysis';
import { ellipsoidNamed, TopocentricFrame, type Ellipsoid } from '@stillmark/geodesy';
import type { Commitment, CommittedResponse, Project, Station, Stream } from '@stillmark/project';
import type { EpochSeries, ReadingSeries } from '@stillmark/records';
import { ProjectGrid } from './map-grid.ts';
import { inProjectFrame } from './project-frame.ts';
import { responseSettings } from './responses.ts';
import {
  approximatePosition,
  knownStepsOf,
  neededEvidence,
  openBasesOf,
  periodOf,
  predecessors,
  settingsOf,
  stepsOf,
} from './project-settings.ts';
import { epochsOf } from './succession.ts';
import { watchesOf } from './watches.ts';

/** One station as one stream sees it. */
export interface View {
  readonly station: Station;
  readonly stream: Stream;
  readonly commitment?: Commitment;
  readonly response?: CommittedResponse;
  /** Bases of the stream that are not committed. */
  readonly openBases?: readonly string[];
  /** Which satellites its receiver tracked, where that is known. */
  readonly tracked?: TrackedDays;
  /** As the store has it. */
  readonly series: EpochSeries;
}

/** Every station in every stream that has epochs of it and does not hold it. */
export function viewsOf(
  project: Project,
  epochs: ReadonlyMap<string, ReadonlyMap<string, EpochSeries>>,
  {
    commitments,
    responses,
    tracked,
  }: {
    readonly commitments: readonly Commitment[];
    readonly responses: readonly CommittedResponse[];
    readonly tracked: ReadonlyMap<string, TrackedDays>;
  },
  asOfMs: number,
): View[] {
  const { stations, streams } = project;
  return stations.flatMap((station) => {
    // Until something is committed of a station itself, what was committed of the one whose place it took counts.
    const ids = [station.id, ...predecessors(project, station.id).map(({ id }) => id)];
    return streams.flatMap((stream): View[] => {
      const series = epochsOf(project, station.id, epochs.get(stream.name));
      if (stream.base === station.id || !series || series.timesMs.length === 0) return [];
      const commitment = committedOf(ids, stream, commitments, asOfMs);
      const response = committedOf(ids, stream, responses, asOfMs);
      const seen = new Set(epochs.get(stream.name)?.keys());
      const committed = new Set(
        commitments.flatMap((c) =>
          c.stream === stream.name && Date.parse(c.to) <= asOfMs ? [c.station] : [],
        ),
      );
      return [
        {
          station,
          stream,
          series,
          ...openBasesOf(project, station, stream, seen, committed),
          ...(tracked.has(station.id) ? { tracked: tracked.get(station.id)! } : {}),
          ...(commitment ? { commitment } : {}),
          ...(response ? { response } : {}),
        },
      ];
    });
  });
}

/** What counts at an instant of what was committed: the last whose period has ended by then. */
function committedOf<T extends Pick<Commitment, 'station' | 'stream' | 'to'>>(
  ids: readonly string[],
  stream: Stream,
  entries: readonly T[],
  asOfMs: number,
): T | undefined {
  const of = (id: string): T | undefined =>
    entries.findLast((c) => c.station === id && c.stream === stream.name && Date.parse(c.to) <= asOfMs);
  return ids.reduce<T | undefined>((found, id) => found ?? of(id), undefined);
}

/** What can be said of a station in a stream, before it is judged together with the others. */
export function analysisOf(
  project: Project,
  asOfMs: number,
  readings: ReadonlyMap<string, ReadingSeries>,
  remember: Remember = forget,
): (view: View) => StationAnalysis {
  const ellipsoid = ellipsoidNamed(project.frame.ellipsoid)!;
  const grid = ProjectGrid.of(project);
  const settings = settingsOf(project);
  return (view) => {
    const { station, stream, commitment } = view;
    const series = inProjectFrame(project, stream, view.series);
    return analyseStation({
      series,
      frame: commitment
        ? TopocentricFrame.at(ellipsoid, commitment.position)
        : centred(project, ellipsoid, { ...view, series }),
      steps: stepsOf(project, station.id, stream),
      knownSteps: knownStepsOf(project, station.id, stream),
      evidence: {
        ...neededEvidence(project),
        ...(view.openBases ? { openBases: view.openBases } : {}),
        ...(view.tracked ? { tracked: view.tracked } : {}),
      },
      response: responseSettings(project, readings, view.response),
      watch: watchesOf(project, station, stream),
      settings,
      remember,
      asOfMs,
      processingIntervalMs: project.processingInterval,
      ...(project.axes ? { longitudinalAzimuthDeg: project.axes.longitudinalAzimuth } : {}),
      ...(grid && commitment ? { gridNorth: grid.northAt(commitment.position) } : {}),
      ...(commitment ? { reference: periodOf(commitment) } : {}),
    });
  };
}

/** Without a reference position the series is shown about its mean, which is no statement. */
function centred(
  project: Project,
  ellipsoid: Ellipsoid,
  { station, stream, series }: View,
): TopocentricFrame {
  const near = TopocentricFrame.at(ellipsoid, approximatePosition(ellipsoid, station));
  const steps = stepsOf(project, station.id, stream);
  const { windows } = prepare({ series, frame: near, settings: settingsOf(project), steps });
  if (windows.slot.length === 0)
    return TopocentricFrame.at(ellipsoid, { x: series.xyz[0]!, y: series.xyz[1]!, z: series.xyz[2]! });
  const { position } = referenceEvidence(
    windows,
    near,
    windows.slot[0]! * windows.windowMs,
    (windows.slot.at(-1)! + 1) * windows.windowMs,
  );
  return TopocentricFrame.at(ellipsoid, position);
}
