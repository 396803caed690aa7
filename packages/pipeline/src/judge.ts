import {
  heightDependence,
  judgeLines,
  judgeTogether,
  judgeVelocities,
  type LineTask,
  type Member,
  type Remember,
  type StationAnalysis,
} from '@stillmark/analysis';
import { radians, toGeodetic, TopocentricFrame } from '@stillmark/geodesy';
import { pairName, streamOf, type Project } from '@stillmark/project';
import type {
  CorrectedStatement,
  DisplacementStatement,
  HeightDependence,
  RateStatement,
  Snapshot,
  StreamView,
  TrajectoryRecord,
} from '@stillmark/records';
import type { ProjectFolder } from './project-folder.ts';
import {
  approximatePosition,
  knownStepsOf,
  periodOf,
  primaryStream,
  settingsOf,
  stepsOf,
} from './project-settings.ts';
import type { View } from './views.ts';

export interface Analysed {
  readonly view: View;
  readonly analysis: StationAnalysis;
}

/** Figures of the streams that are stated first are one family of tests, all others another. */
function families({ project }: ProjectFolder, analysed: readonly Analysed[]): Analysed[][] {
  return [true, false].map((first) =>
    analysed.filter(({ view }) => (primaryStream(project, view.station) === view.stream) === first),
  );
}

/** Azimuth of the structure's longitudinal axis in radians, where it has one. */
export const longitudinalOf = ({ axes }: Project): number | undefined =>
  axes && radians(axes.longitudinalAzimuth);

/** Displacements of all views. */
export function judgeViews(
  opened: ProjectFolder,
  analysed: readonly Analysed[],
  remember?: Remember,
): Map<View, DisplacementStatement> {
  const { project } = opened;
  const out = new Map<View, DisplacementStatement>();
  for (const family of families(opened, analysed)) {
    const judged = family.flatMap(({ view, analysis }) =>
      analysis.judged ? [{ view, of: analysis.judged }] : [],
    );
    judgeTogether(
      judged.map(({ of }) => of),
      settingsOf(project),
      longitudinalOf(project),
      remember,
    ).forEach((statement, i) => out.set(judged[i]!.view, statement));
  }
  return out;
}

/** Velocities of all views. */
export function judgeTrajectories(
  opened: ProjectFolder,
  analysed: readonly Analysed[],
  remember?: Remember,
): Map<View, TrajectoryRecord> {
  const { project } = opened;
  const out = new Map<View, TrajectoryRecord>();
  for (const family of families(opened, analysed)) {
    const fitted = family.flatMap(({ view, analysis: { trajectory } }) =>
      trajectory ? [{ view, trajectory }] : [],
    );
    judgeVelocities(
      fitted.map(({ trajectory }) => trajectory.velocity),
      settingsOf(project),
      longitudinalOf(project),
      remember,
    ).forEach((velocity, i) => out.set(fitted[i]!.view, { ...fitted[i]!.trajectory, velocity }));
  }
  return out;
}

/** What logs do to each view, with the displacements and velocities less committed responses, each a family of tests of its own. */
export function judgeResponses(
  opened: ProjectFolder,
  analysed: readonly Analysed[],
  remember?: Remember,
): Map<View, Pick<StreamView, 'response' | 'noResponse'>> {
  const { project } = opened;
  const settings = settingsOf(project);
  const out = new Map<View, Pick<StreamView, 'response' | 'noResponse'>>();
  for (const family of families(opened, analysed)) {
    const corrected = family.flatMap(({ view, analysis: { response } }) =>
      response && 'record' in response && response.corrected ? [{ view, of: response.corrected }] : [],
    );
    const statements = judgeTogether(
      corrected.map(({ of }) => of.judged),
      settings,
      longitudinalOf(project),
      remember,
    );
    const moving = corrected.flatMap(({ view, of: { velocity } }) => (velocity ? [{ view, velocity }] : []));
    const velocities = new Map<View, RateStatement>();
    judgeVelocities(
      moving.map(({ velocity }) => velocity),
      settings,
      longitudinalOf(project),
      remember,
    ).forEach((velocity, i) => velocities.set(moving[i]!.view, velocity));
    for (const { view, analysis } of family) {
      const { response } = analysis;
      if (!response) continue;
      if (!('record' in response)) {
        out.set(view, { noResponse: response.reason });
        continue;
      }
      const i = corrected.findIndex((c) => c.view === view);
      out.set(view, {
        response: {
          ...response.record,
          ...(i < 0
            ? {}
            : { corrected: correctedRecord(statements[i]!, corrected[i]!.of.today, velocities.get(view)) }),
        },
      });
    }
  }
  return out;
}

function correctedRecord(
  { east_mm, north_mm, up_mm, covariance_mm2, horizontal, up, structure }: DisplacementStatement,
  today: CorrectedStatement['today'],
  velocity: RateStatement | undefined,
): CorrectedStatement {
  return {
    today,
    east_mm,
    north_mm,
    up_mm,
    covariance_mm2,
    horizontal,
    up,
    ...(structure ? { structure } : {}),
    ...(velocity ? { velocity } : {}),
  };
}

/** Up of the stations of each relative stream against their height above its base. */
export function heightsOf(
  { project, ellipsoid }: ProjectFolder,
  analysed: readonly Analysed[],
): HeightDependence[] {
  const heightOf = (id: string): number =>
    toGeodetic(
      ellipsoid,
      approximatePosition(
        ellipsoid,
        project.stations.find((s) => s.id === id)!,
      ),
    ).height;
  return project.streams.flatMap((stream) => {
    if (stream.base === undefined) return [];
    const base = heightOf(stream.base);
    const found = heightDependence({
      stream: stream.name,
      confidence: settingsOf(project).confidence,
      stations: analysed.flatMap(({ view, analysis: { daily } }) =>
        view.stream === stream && daily
          ? [
              {
                daily,
                events: knownStepsOf(project, view.station.id, stream),
                height: heightOf(view.station.id) - base,
              },
            ]
          : [],
      ),
    });
    return found ? [found] : [];
  });
}

/** Pairs or lines with what is known of their stations. */
export function lineTasks(
  { project, ellipsoid }: ProjectFolder,
  analysed: readonly Analysed[],
  lines: Project['lines'],
): LineTask[] {
  return lines.map((line) => {
    const stream = streamOf(project, line);
    const members = line.stations.map((id): Member => {
      const own = analysed.find(({ view }) => view.station.id === id && view.stream === stream);
      const commitment = own?.view.commitment;
      const station = project.stations.find((s) => s.id === id)!;
      const frame = TopocentricFrame.at(
        ellipsoid,
        commitment?.position ?? approximatePosition(ellipsoid, station),
      );
      return {
        id,
        axes: frame.axes,
        position: [frame.origin.x, frame.origin.y, frame.origin.z],
        steps: stepsOf(project, id, stream),
        ...(own?.analysis.windows && commitment
          ? {
              known: {
                windows: own.analysis.windows,
                reference: periodOf(commitment),
              },
            }
          : {}),
      };
    });
    return { name: pairName(line), stream: stream.name, members };
  });
}

/** Pairs and lines of stations against each other. */
export function linesOf(
  opened: ProjectFolder,
  analysed: readonly Analysed[],
  asOfMs: number,
): Pick<Snapshot, 'pairs' | 'profiles'> {
  const { project } = opened;
  const tasksOf = (lines: Project['lines']): LineTask[] => lineTasks(opened, analysed, lines);
  return judgeLines(tasksOf(project.pairs), tasksOf(project.lines), {
    settings: settingsOf(project),
    asOfMs,
  });
}
