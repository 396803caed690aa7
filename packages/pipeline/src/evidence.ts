import {
  commonMode,
  componentsOf,
  judgeMovements,
  ontoStable,
  presentOf,
  sharedVariance,
  sumOfWindows,
  type BaseNetwork,
  type Movement,
  type Part,
  type Remember,
  type Seen,
} from '@stillmark/analysis';
import { TopocentricFrame } from '@stillmark/geodesy';
import { ProblemError } from '@stillmark/problems';
import {
  formatInstant,
  type ClosureRecord,
  type CommonModeRecord,
  type NetworkRecord,
  type SurveyComponent,
  type SurveyRecord,
} from '@stillmark/records';
import type { Analysed } from './judge.ts';
import type { ProjectFolder } from './project-folder.ts';
import { periodOf, primaryStream, settingsOf, stepsOf } from './project-settings.ts';
import type { Stability } from './stability.ts';

/** What speaks for or against the bases beside the vectors between them. */
export function evidenceOf(
  opened: ProjectFolder,
  analysed: readonly Analysed[],
  stability: Stability,
  asOfMs: number,
  remember?: Remember,
): Pick<NetworkRecord, 'common' | 'closures' | 'surveys'> {
  return {
    common: commonModes(opened, analysed),
    closures: closuresOf(opened, analysed, asOfMs, remember),
    surveys: surveysOf(opened, analysed, stability, asOfMs, remember),
  };
}

type Committed = Analysed & {
  readonly view: { readonly commitment: NonNullable<Analysed['view']['commitment']> };
  readonly analysis: { readonly windows: NonNullable<Analysed['analysis']['windows']> };
};
const isCommitted = (a: Analysed): a is Committed =>
  a.view.commitment !== undefined && a.analysis.windows !== undefined;

const referenceOf = ({ view: { commitment } }: Committed): { fromMs: number; toMs: number } =>
  periodOf(commitment);

/** What explains the present movements of each stream. */
function commonModes({ project }: ProjectFolder, analysed: readonly Analysed[]): CommonModeRecord[] {
  return project.streams.flatMap((stream) => {
    if (stream.base === undefined) return [];
    const own = analysed.filter(({ view }) => view.stream === stream).filter(isCommitted);
    const found = commonMode({
      stream: stream.name,
      base: stream.base,
      shared: sharedVariance(own.map((a) => ({ windows: a.analysis.windows, reference: referenceOf(a) }))),
      seen: own.flatMap(({ view: { station }, analysis: { judged } }): Seen[] =>
        judged ? [{ id: station.id, role: station.role, movement: judged.displacement }] : [],
      ),
    });
    return found ? [found] : [];
  });
}

/**
 * Two streams of one station differ by what their bases do against each other, and by nothing else. That sum is tested for every station
 * that two streams see whose bases see each other: what is left is a fault of a processing, of a tie, or of an antenna exchanged unsaid.
 */
function closuresOf(
  { project, ellipsoid }: ProjectFolder,
  analysed: readonly Analysed[],
  asOfMs: number,
  remember: Remember | undefined,
): ClosureRecord[] {
  const committed = analysed.filter(isCommitted);
  const settings = settingsOf(project);
  const of = (id: string, stream: string): Committed | undefined =>
    committed.find(({ view }) => view.station.id === id && view.stream.name === stream);
  const found: { id: string; streams: readonly [string, string]; movement: Movement }[] = [];
  for (const { id, role } of project.stations) {
    if (role === 'base') continue;
    const [first, ...others] = committed.filter(
      ({ view }) => view.station.id === id && view.stream.base !== undefined,
    );
    for (const second of first ? others : []) {
      const [a, b] = [first!.view.stream, second.view.stream];
      // d(A) - d(B) = movement of B seen from A = - movement of A seen from B.
      const forth = of(b.base!, a.name);
      const back = of(a.base!, b.name);
      const between = forth ?? back;
      if (a.base === b.base || !between) continue;
      const members: [Committed, number][] = [
        [first!, 1],
        [second, -1],
        [between, forth ? -1 : 1],
      ];
      const reference = {
        fromMs: Math.max(...members.map(([m]) => referenceOf(m).fromMs)),
        toMs: Math.min(...members.map(([m]) => referenceOf(m).toMs)),
      };
      const axesOf = ({ view: { commitment } }: Committed): ArrayLike<number> =>
        TopocentricFrame.at(ellipsoid, commitment.position).axes;
      const parts = members.map(([m, weight]): Part => ({
        windows: m.analysis.windows,
        axes: axesOf(m),
        weight,
      }));
      const steps = members.flatMap(([{ view }]) => stepsOf(project, view.station.id, view.stream));
      try {
        const summed = sumOfWindows(parts, axesOf(first!), reference);
        const { judged } = presentOf({ reference, steps, settings, asOfMs, remember }, summed);
        if (judged) found.push({ id, streams: [a.name, b.name], movement: judged.displacement });
      } catch (error) {
        if (!(error instanceof ProblemError)) throw error;
      }
    }
  }
  const judged = judgeMovements(
    found.map(({ movement }) => movement),
    settings,
    remember,
  );
  return found.map(({ id, streams, movement: { east_mm, north_mm, up_mm } }, i) => ({
    id,
    streams,
    east_mm,
    north_mm,
    up_mm,
    horizontal: judged[i]!.horizontal,
    up: judged[i]!.up,
  }));
}

/** Check surveys, each beside what positions said of the same movement at that time. */
function surveysOf(
  { project }: ProjectFolder,
  analysed: readonly Analysed[],
  { network, moving }: Stability,
  asOfMs: number,
  remember: Remember | undefined,
): SurveyRecord[] {
  const settings = settingsOf(project);
  const oursAt = (id: string, atMs: number): ReturnType<typeof componentsOf> | undefined => {
    try {
      const movement = network?.bases.includes(id) ? ofBase(network, id, moving, atMs) : ofStation(id, atMs);
      return movement && componentsOf(movement, settings.confidence);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      return undefined;
    }
  };
  const ofBase = (
    bases: BaseNetwork,
    id: string,
    others: readonly string[],
    at: number,
  ): Movement | undefined =>
    presentOf(
      { reference: bases.referenceMs, steps: bases.steps, settings, asOfMs: at, remember },
      ontoStable(bases, id, others),
    ).judged?.displacement;
  const ofStation = (id: string, at: number): Movement | undefined => {
    const station = project.stations.find((s) => s.id === id)!;
    const stream = primaryStream(project, station);
    const own = analysed
      .filter(({ view }) => view.station === station && view.stream === stream)
      .find(isCommitted);
    if (!own) return undefined;
    const steps = stepsOf(project, id, stream);
    return presentOf(
      { reference: referenceOf(own), steps, settings, asOfMs: at, remember },
      own.analysis.windows,
    ).judged?.displacement;
  };
  return project.surveys
    .filter(({ at }) => at <= asOfMs)
    .toSorted((a, b) => a.at - b.at)
    .map(({ station, at, method, by, result, movement }): SurveyRecord => {
      const ours = oursAt(station, at);
      return {
        at: formatInstant(at),
        station,
        method,
        by,
        result,
        components: (['east', 'north', 'up'] as const).flatMap((axis): SurveyComponent[] => {
          const own = movement[axis];
          if (!own) return [];
          const [value_mm, plusMinus_mm] = [1000 * own.value, 1000 * own.plusMinus];
          const other = ours?.[axis];
          return [
            {
              axis,
              value_mm,
              plusMinus_mm,
              ...(other
                ? {
                    ours_mm: other.value,
                    oursPlusMinus_mm: other.plusMinus,
                    agrees: Math.abs(other.value - value_mm) <= Math.hypot(other.plusMinus, plusMinus_mm),
                  }
                : {}),
            },
          ];
        }),
      };
    });
}
