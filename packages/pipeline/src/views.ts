import { analyseStation, prepare, referenceEvidence, type StationAnalysis } from '@stillmark/analysis';
import { ellipsoidNamed, TopocentricFrame, type Ellipsoid } from '@stillmark/geodesy';
import type { Commitment, Project, Station, Stream } from '@stillmark/project';
import type { EpochSeries } from '@stillmark/records';
import { ProjectGrid } from './map-grid.ts';
import { inProjectFrame } from './project-frame.ts';
import {
  approximatePosition,
  knownStepsOf,
  neededEvidence,
  settingsOf,
  stepsOf,
} from './project-settings.ts';

/** One station as one stream sees it. */
export interface View {
  readonly station: Station;
  readonly stream: Stream;
  readonly commitment?: Commitment;
  /** As the store has it. */
  readonly series: EpochSeries;
}

/** The stream whose figures are stated first for a station. */
export function primaryStream({ streams }: Project, { stream }: Station): Stream {
  return streams.find((s) => s.name === stream) ?? streams[0]!;
}

/** Every station in every stream that has epochs of it and does not hold it. */
export function viewsOf(
  { stations, streams }: Project,
  epochs: ReadonlyMap<string, ReadonlyMap<string, EpochSeries>>,
  commitments: readonly Commitment[],
  asOfMs: number,
): View[] {
  return stations.flatMap((station) =>
    streams.flatMap((stream): View[] => {
      const series = epochs.get(stream.name)?.get(station.id);
      if (stream.base === station.id || !series || series.timesMs.length === 0) return [];
      const commitment = commitmentOf(station, stream, commitments, asOfMs);
      return [{ station, stream, series, ...(commitment ? { commitment } : {}) }];
    }),
  );
}

/** The commitment that counts at an instant: the last of those whose period has ended by then. */
function commitmentOf(
  station: Station,
  stream: Stream,
  commitments: readonly Commitment[],
  asOfMs: number,
): Commitment | undefined {
  return commitments.findLast(
    (c) => c.station === station.id && c.stream === stream.name && Date.parse(c.to) <= asOfMs,
  );
}

/** What can be said of a station in a stream, before it is judged together with the others. */
export function analysisOf(project: Project, asOfMs: number): (view: View) => StationAnalysis {
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
      evidence: neededEvidence(project),
      settings,
      asOfMs,
      processingIntervalMs: project.processingInterval,
      ...(project.axes ? { longitudinalAzimuthDeg: project.axes.longitudinalAzimuth } : {}),
      ...(grid && commitment ? { gridNorth: grid.northAt(commitment.position) } : {}),
      ...(commitment
        ? { reference: { fromMs: Date.parse(commitment.from), toMs: Date.parse(commitment.to) } }
        : {}),
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
