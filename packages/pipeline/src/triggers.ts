import {
  runMachine,
  watchPair,
  type Evaluations,
  type MachineTask,
  type Remember,
  type Watched,
  type WatchedMeans,
} from '@stillmark/analysis';
import { warning, type Problem } from '@stillmark/problems';
import {
  isOfPairs,
  pairName,
  streamOf,
  unitOf,
  untiedChanges,
  watchedBy,
  type Project,
  type Trigger,
} from '@stillmark/project';
import {
  formatInstant,
  type ChangeRecord,
  type NetworkRecord,
  type TriggerRecord,
  type WatchedRecord,
} from '@stillmark/records';
import { lineTasks, type Analysed } from './judge.ts';
import type { ProjectFolder } from './project-folder.ts';
import { settingsOf } from './project-settings.ts';
import { meansOf, streamNamed } from './watches.ts';

export interface TriggerStates {
  readonly triggers: TriggerRecord[];
  /** Acknowledgements of changes that the log does not have. */
  readonly doubts: Problem[];
}

/** The states of all triggers from their first mean to the as-of time, with what was said to their changes. */
export function triggerStates(
  opened: ProjectFolder,
  analysed: readonly Analysed[],
  network: NetworkRecord,
  doubted: readonly string[],
  asOfMs: number,
  remember?: Remember,
): TriggerStates {
  const { project } = opened;
  const doubts: Problem[] = [];
  const triggers = project.triggers.map((trigger): TriggerRecord => {
    const { name, quantity, figures, basis, side, persistence, release, missing } = trigger;
    const watched = isOfPairs(quantity)
      ? pairsUnder(opened, analysed, trigger, asOfMs, remember)
      : stationsUnder(project, analysed, trigger);
    const rule = { basis, side, persistence, release };
    const machine = {
      ...rule,
      levels: trigger.levels.map(({ at }) => at.value),
      missing: { means: missing.means, noDataAfterMs: missing.noDataAfter },
      ...(trigger.to === undefined ? {} : { toMs: trigger.to }),
      // As silent as a station of which nothing can be stated.
      staleAfterMs: settingsOf(project).statementMs,
    };
    return {
      name,
      quantity,
      figures,
      unit: unitOf(trigger),
      windowMs: trigger.window,
      ...(trigger.rateOver === undefined ? {} : { rateOverMs: trigger.rateOver }),
      ...rule,
      missing: machine.missing,
      ...(trigger.from === undefined ? {} : { from: formatInstant(trigger.from) }),
      ...(trigger.to === undefined ? {} : { to: formatInstant(trigger.to) }),
      levels: trigger.levels.map((level) => ({
        name: level.name,
        at: level.at.value,
        responsible: level.responsible,
      })),
      watched: watched.map((subject): WatchedRecord => {
        const { of, stream, base, sinceMs, fromMs, evaluations, reason } = subject;
        const known = evaluations && knownMeans(evaluations, basis);
        const unknown =
          known?.endMs.length === 0 && evaluations!.endMs.length > 0
            ? 'the noise is not known well enough for intervals'
            : reason;
        // The first mean that can be there, and the first whose interval is known.
        const whole = fromMs === undefined ? undefined : fromMs + (trigger.rateOver ?? 0);
        const first = known && known.endMs.length < evaluations.endMs.length ? known.endMs[0]! : 0;
        const task: MachineTask = {
          ...machine,
          untilMs: asOfMs + subject.spacingMs,
          dataMs: subject.dataMs,
          doubts: [
            ...(base === undefined ? [] : doubtSpans(base, network, doubted.includes(base), asOfMs)),
            ...untiedSpans(project, stream, sinceMs),
            ...subject.cannotTie,
          ],
          ...(known && unknown === undefined && whole !== undefined
            ? { fromMs: Math.max(whole, first - trigger.window, trigger.from ?? Number.NEGATIVE_INFINITY) }
            : {}),
        };
        const found = runMachine(known ?? noMeans(trigger), task);
        return {
          of,
          stream,
          ...acknowledged(project, trigger, of, found, doubts),
          ...(unknown === undefined ? {} : { reason: unknown }),
        };
      }),
    };
  });
  return { triggers, doubts };
}

const noMeans = ({ window }: Trigger): Evaluations => ({
  windowMs: window,
  endMs: new Float64Array(),
  value: new Float64Array(),
  plusMinus: new Float64Array(),
});

/** Where the nearer end of an interval is compared with levels, means without one are not there. */
function knownMeans(means: Evaluations, basis: Trigger['basis']): Evaluations {
  const { endMs, value, plusMinus } = means;
  if (basis === 'estimate' || !plusMinus.some(Number.isNaN)) return means;
  const known = (column: Float64Array): Float64Array => column.filter((_, i) => !Number.isNaN(plusMinus[i]!));
  return { ...means, endMs: known(endMs), value: known(value), plusMinus: known(plusMinus) };
}

interface Subject {
  readonly of: string;
  readonly stream: string;
  /** Whose doubt is that of the subject; of pairs of one stream the base is in no figure. */
  readonly base?: string;
  /** Begin and end of the reference period. */
  readonly sinceMs?: number;
  readonly fromMs?: number;
  readonly evaluations?: Evaluations;
  readonly dataMs: Float64Array;
  /** For so long the newest epoch stands. */
  readonly spacingMs: number;
  /** From a step on that cannot be tied yet. */
  readonly cannotTie: MachineTask['doubts'];
  readonly reason?: string;
}

/** What was watched of a series, in the words of a subject. */
function seenOf(
  watched: WatchedMeans | undefined,
  name: string,
): Pick<Subject, 'evaluations' | 'dataMs' | 'cannotTie'> {
  const evaluations = watched?.evaluations.get(name);
  const untied = watched?.untied;
  return {
    ...(evaluations ? { evaluations } : {}),
    dataMs: watched?.dataMs ?? new Float64Array(),
    cannotTie: untied
      ? [{ fromMs: untied.fromMs, toMs: Number.POSITIVE_INFINITY, why: `cannot be tied yet: ${untied.what}` }]
      : [],
  };
}

function stationsUnder(project: Project, analysed: readonly Analysed[], trigger: Trigger): Subject[] {
  return watchedBy(project, trigger).map((id): Subject => {
    const station = project.stations.find((s) => s.id === id)!;
    const stream = streamNamed(project, station, trigger);
    const own = analysed.find(({ view }) => view.station === station && view.stream === stream);
    const seen = seenOf(own?.analysis.watched, trigger.name);
    const commitment = own?.view.commitment;
    return {
      of: id,
      stream: stream.name,
      ...(stream.base === undefined ? {} : { base: stream.base }),
      ...(commitment ? { sinceMs: Date.parse(commitment.from), fromMs: Date.parse(commitment.to) } : {}),
      spacingMs: own?.analysis.data?.spacingMs ?? 0,
      ...seen,
      ...(seen.evaluations ? {} : { reason: reasonOf(own, trigger) }),
    };
  });
}

function reasonOf(own: Analysed | undefined, { figures }: Trigger): string {
  if (!own) return 'there are no positions';
  if (!own.view.commitment) return 'no reference position is committed';
  const { statement } = own.analysis;
  if (figures === 'less response' && !own.view.response) return 'no response is committed';
  return statement?.kind === 'not-statable' ? statement.reason : 'nothing can be stated';
}

function pairsUnder(
  opened: ProjectFolder,
  analysed: readonly Analysed[],
  trigger: Trigger,
  asOfMs: number,
  remember: Remember | undefined,
): Subject[] {
  const { project } = opened;
  const names = watchedBy(project, trigger);
  const lines = project.pairs.filter((pair) => names.includes(pairName(pair)));
  const { name, quantity } = trigger;
  if (!isOfPairs(quantity)) return [];
  const watch = { ...meansOf(trigger), quantity };
  return lineTasks(opened, analysed, lines).map((task, i): Subject => {
    const { watched, reference, reason } = watchPair(
      task,
      watch,
      { settings: settingsOf(project), asOfMs },
      remember,
    );
    const stream = streamOf(project, lines[i]!).name;
    const spacings = analysed
      .filter(({ view }) => view.stream.name === stream && lines[i]!.stations.includes(view.station.id))
      .map(({ analysis }) => analysis.data?.spacingMs ?? 0);
    return {
      of: pairName(lines[i]!),
      stream,
      ...(reference ? { sinceMs: Date.parse(reference.from), fromMs: Date.parse(reference.to) } : {}),
      spacingMs: Math.min(...spacings),
      ...seenOf(watched, name),
      ...(reason === undefined ? {} : { reason }),
    };
  });
}

/**
 * Since when, and until when, a base is in doubt: since the bases show it, or an engineer says so; until an engineer takes it as stable.
 */
function doubtSpans(
  base: string,
  { stability, decisions }: NetworkRecord,
  now: boolean,
  asOfMs: number,
): MachineTask['doubts'] {
  const own = decisions.filter((d) => d.base === base);
  const finding = stability?.finding;
  const shown =
    finding?.kind === 'moving'
      ? finding.moving.find(({ id }) => id === base)?.since
      : finding?.kind === 'unclear'
        ? finding.since
        : undefined;
  const begins = [
    ...(shown === undefined ? [] : [{ fromMs: Date.parse(shown), saidMs: Date.parse(shown) }]),
    ...own
      .filter(({ finding: said }) => said === 'moving')
      .map(({ since, at }) => ({ fromMs: Date.parse(since ?? at), saidMs: Date.parse(at) })),
  ];
  const spans = begins.map(({ fromMs, saidMs }) => {
    const stable = own.find(({ finding: said, at }) => said === 'stable' && Date.parse(at) > saidMs);
    return {
      fromMs,
      toMs: stable ? Date.parse(stable.at) : Number.POSITIVE_INFINITY,
      why: `base ${base} in doubt`,
    };
  });
  // By the pairs of bases alone nobody knows since when.
  const open = spans.some(({ toMs }) => toMs === Number.POSITIVE_INFINITY);
  return now && !open
    ? [...spans, { fromMs: asOfMs, toMs: Number.POSITIVE_INFINITY, why: `base ${base} in doubt` }]
    : spans;
}

/** From a change of the processing on that no event ties. */
function untiedSpans(project: Project, stream: string, sinceMs = 0): MachineTask['doubts'] {
  const own = project.streams.find(({ name }) => name === stream)!;
  return untiedChanges(project, own)
    .filter(({ atMs }) => atMs > sinceMs)
    .map(({ atMs, what }) => ({
      fromMs: atMs,
      toMs: Number.POSITIVE_INFINITY,
      why: `processing changed, not tied: ${what}`,
    }));
}

/** What was said to the changes; what was said to none is told, since it may have been meant for one. */
function acknowledged(
  project: Project,
  { name }: Trigger,
  of: string,
  watched: Watched,
  doubts: Problem[],
): Watched {
  const own = project.acknowledgements.filter((a) => a.trigger === name && a.of === of);
  for (const { change, by } of own)
    if (!watched.changes.some(({ at }) => Date.parse(at) === change))
      doubts.push(
        warning(
          'PROJECT_REFERENCE',
          `${by} acknowledged a change of ${name} at ${of} of ${formatInstant(change)}, which the log does not have (any more)`,
          { hint: 'the time of a change as the log gives it' },
        ),
      );
  return {
    ...watched,
    changes: watched.changes.map((change): ChangeRecord => {
      const said = own.filter((a) => a.change === Date.parse(change.at));
      if (said.length === 0) return change;
      return {
        ...change,
        acknowledged: said.map(({ by, at, comment }) => ({
          by,
          at: formatInstant(at),
          ...(comment === undefined ? {} : { comment }),
        })),
      };
    }),
  };
}
