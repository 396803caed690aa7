import {
  baseNetwork,
  judgeMovements,
  ontoStable,
  perAxis,
  presentOf,
  stabilityOf,
  sumOfWindows,
  type Axis,
  type BaseNetwork,
  type BaseVector,
  type Movement,
  type Remember,
  type WindowSeries,
} from '@stillmark/analysis';
import { TopocentricFrame } from '@stillmark/geodesy';
import { ProblemError } from '@stillmark/problems';
import {
  formatInstant,
  type DecisionRecord,
  type NetworkRecord,
  type OntoStable,
  type StabilityRecord,
} from '@stillmark/records';
import type { Analysed } from './judge.ts';
import type { ProjectFolder } from './project-folder.ts';
import { periodOf, settingsOf, stepsOf } from './project-settings.ts';
import type { View } from './views.ts';

export interface Stability {
  readonly record: Pick<NetworkRecord, 'stability' | 'untested' | 'decisions'>;
  /** Displacements from the bases that stand still, of stations whose base does not. */
  readonly onto: ReadonlyMap<View, OntoStable>;
  /** Their means from those bases, in their own axes, steps that are no movement taken off. */
  readonly ontoWindows: ReadonlyMap<View, WindowSeries>;
  /** Absent where there is no such network. */
  readonly network?: BaseNetwork;
  /** Bases that move, by the test or by decision. */
  readonly moving: readonly string[];
}

/** Whether the bases keep their places among each other, and what that does to the stations. */
export function stabilityOfProject(
  opened: ProjectFolder,
  analysed: readonly Analysed[],
  asOfMs: number,
  remember?: Remember,
): Stability {
  const { project, ellipsoid } = opened;
  const bases = project.stations.filter(({ role }) => role === 'base').map(({ id }) => id);
  const decisions = project.decisions
    .filter(({ at }) => at <= asOfMs)
    .toSorted((a, b) => a.at - b.at)
    .map(({ base, finding, since, by, at, why }) => ({
      base,
      finding,
      ...(since === undefined ? {} : { since: formatInstant(since) }),
      by,
      at: formatInstant(at),
      why,
    }));
  const vectors = analysed.flatMap(({ view, analysis: { windows } }): BaseVector[] => {
    const { station, stream, commitment } = view;
    if (station.role !== 'base' || stream.base === undefined || !commitment || !windows) return [];
    return [
      {
        from: stream.base,
        to: station.id,
        windows,
        axes: TopocentricFrame.at(ellipsoid, commitment.position).axes,
        reference: periodOf(commitment),
        steps: stepsOf(project, station.id, stream),
      },
    ];
  });
  if (bases.length < 2 || vectors.length === 0)
    return {
      record: { untested: 'no base is seen from another one', decisions },
      onto: new Map(),
      ontoWindows: new Map(),
      moving: [],
    };
  try {
    const network = baseNetwork(vectors, bases, asOfMs, 2 * settingsOf(project).statementMs);
    const stability = stabilityOf({ network, settings: settingsOf(project), asOfMs, remember });
    const moving = movingOf(stability, decisions);
    return {
      record: { stability, decisions },
      ...ontoOf(opened, analysed, network, moving, asOfMs, remember),
      network,
      moving,
    };
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    return {
      record: { untested: error.problems[0]!.message, decisions },
      onto: new Map(),
      ontoWindows: new Map(),
      moving: [],
    };
  }
}

/** Bases that the test names or an engineer's latest decision does, without those that it takes as stable. */
function movingOf({ finding, bases }: StabilityRecord, decisions: readonly DecisionRecord[]): string[] {
  return bases.filter((id) => {
    const named = finding.kind === 'moving' ? finding.moving.find((m) => m.id === id) : undefined;
    const decision = decisions.findLast(({ base }) => base === id);
    if (!decision) return named !== undefined;
    return decision.finding === 'moving' || (named !== undefined && named.since > decision.at);
  });
}

/** Stations seen from a base that moves, told from those that do not: their own series and that of their base, summed. */
function ontoOf(
  { project, ellipsoid }: ProjectFolder,
  analysed: readonly Analysed[],
  network: BaseNetwork,
  moving: readonly string[],
  asOfMs: number,
  remember: Remember | undefined,
): Pick<Stability, 'onto' | 'ontoWindows'> {
  const { bases, axes } = network;
  const stable = bases.filter((id) => !moving.includes(id));
  const ontoWindows = new Map<View, WindowSeries>();
  if (moving.length === 0 || stable.length === 0) return { onto: new Map(), ontoWindows };
  const found: { view: View; movement: Movement }[] = [];
  for (const {
    view,
    analysis: { windows },
  } of analysed) {
    const { station, stream, commitment } = view;
    if (stream.base === undefined || !moving.includes(stream.base) || station.role === 'base') continue;
    if (!commitment || !windows) continue;
    const reference = {
      fromMs: Math.max(Date.parse(commitment.from), network.referenceMs.fromMs),
      toMs: Math.min(Date.parse(commitment.to), network.referenceMs.toMs),
    };
    try {
      const own = TopocentricFrame.at(ellipsoid, commitment.position).axes;
      const base = ontoStable(network, stream.base, moving);
      const summed = sumOfWindows(
        [
          { windows, axes: own, weight: 1 },
          { windows: base, axes, weight: 1 },
        ],
        own,
        reference,
      );
      const steps = [...stepsOf(project, station.id, stream), ...network.steps];
      const { judged, contrast } = presentOf(
        { reference, steps, settings: settingsOf(project), asOfMs, remember },
        summed,
      );
      const tied = (axis: Axis): Float64Array => {
        const offset = contrast.offsets(axis);
        return summed[axis].map((v, i) => v - offset[i]!);
      };
      ontoWindows.set(view, { ...summed, ...perAxis(tied) });
      if (judged) found.push({ view, movement: judged.displacement });
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
    }
  }
  const judged = judgeMovements(
    found.map(({ movement }) => movement),
    settingsOf(project),
    remember,
  );
  return {
    ontoWindows,
    onto: new Map(
      found.map(({ view, movement: { east_mm, north_mm, up_mm } }, i) => [
        view,
        { stable, east_mm, north_mm, up_mm, horizontal: judged[i]!.horizontal, up: judged[i]!.up },
      ]),
    ),
  };
}
