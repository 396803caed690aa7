import type {
  BaseStanding,
  Snapshot,
  Standings,
  StationStanding,
  Transition,
  TriggerStanding,
} from '@stillmark/records';
import { t, translated } from '@stillmark/words';
import { doubtedBases, stateIn, stateWords } from './sentences.ts';
import { conditionWords } from './triggers.ts';

type OfTrigger = Standings['triggers'][number];

/** How triggers, monitoring stations and bases stand in a snapshot. */
export function standingsOf(
  snapshot: Pick<Snapshot, 'asOf' | 'triggers' | 'stations' | 'network'>,
): Standings {
  const { asOf, triggers, stations, network } = snapshot;
  const doubted = doubtedBases(snapshot);
  const { stability } = network;
  const watched = stability?.finding.kind === 'watch' ? stability.finding.accused : [];
  const standingOf = (id: string): BaseStanding => {
    if (doubted.includes(id)) return 'doubted';
    if (watched.includes(id)) return 'watched';
    return stability?.bases.includes(id) ? 'stable' : 'untested';
  };
  return {
    asOf,
    triggers: triggers.flatMap((trigger) =>
      trigger.watched.map(({ of, stream, state, newest }): OfTrigger => {
        const level = trigger.levels[state.level - 1];
        return {
          trigger: trigger.name,
          of,
          stream,
          unit: trigger.unit,
          state: { ...state, ...(level ? { levelName: level.name, responsible: level.responsible } : {}) },
          ...(newest ? { newest } : {}),
        };
      }),
    ),
    stations: stations
      .filter(({ role }) => role === 'monitoring')
      .map((station) => ({ of: station.id, state: stateIn(snapshot, station) })),
    bases: stations
      .filter(({ role }) => role === 'base')
      .map(({ id }) => ({ of: id, state: standingOf(id) })),
  };
}

const baseWords: Readonly<Record<BaseStanding, string>> = translated({
  doubted: 'in doubt: it moves, or may',
  watched: 'seems to move, for too short a time to say so',
  stable: 'keeps its place',
  untested: 'cannot be tested',
});

/** `level 2 (alarm)`, `in doubt, at level 1 (attention)`, `stale, last at level 1 (attention)`, `no level reached`. */
function triggerWords({ condition, level, levelName }: TriggerStanding): string {
  if (level === 0) return condition === 'measured' ? t`no level reached` : conditionWords[condition];
  const reached = levelName === undefined ? t`level ${level}` : t`level ${level} (${levelName})`;
  if (condition === 'measured') return reached;
  return condition === 'in-doubt'
    ? t`in doubt, at ${reached}`
    : t`${conditionWords[condition]}, last at ${reached}`;
}

function said(from: string | undefined, to: string | undefined): string {
  if (from === to) return t`${to} (as before; another state may have been told in between)`;
  if (from === undefined) return t`${to} (nothing before)`;
  return to === undefined ? t`no longer there (before: ${from})` : t`${to} (before: ${from})`;
}

/** Of what a transition is. */
export function transitionKey(transition: Transition): string {
  const { kind, of } = transition;
  return JSON.stringify(kind === 'trigger' ? [kind, of, transition.trigger, transition.stream] : [kind, of]);
}

/**
 * What differs between two states of a network, in the order of the later one; what is no longer there comes last. The same level under
 * another name is a change of state; a new figure, or somebody else who is responsible, is none.
 *
 * @param before undefined where there was no snapshot: everything is told then
 * @param again keys of what is told whether it differs or not, since another state of it may have been told in between
 */
export function transitionsBetween(
  before: Standings | undefined,
  now: Standings,
  again: ReadonlySet<string> = new Set(),
): Transition[] {
  const words = (at: OfTrigger | undefined): string | undefined => at && triggerWords(at.state);
  const stationWords = (state: StationStanding | undefined): string | undefined => state && stateWords[state];
  const all: { readonly transition: Transition; readonly same: boolean }[] = [
    ...pairs(before, now, (s) => s.triggers).map(({ from, to, any: { trigger, of, stream, unit } }) => ({
      same: sameTrigger(from, to),
      transition: {
        kind: 'trigger' as const,
        trigger,
        of,
        stream,
        unit,
        from: from?.state ?? null,
        to: to?.state ?? null,
        ...(to?.newest ? { newest: to.newest } : {}),
        text: t`${of}, ${trigger}: ${said(words(from), words(to))}`,
      },
    })),
    ...pairs(before, now, (s) => s.stations).map(({ from, to, any: { of } }) => ({
      same: from?.state === to?.state,
      transition: {
        kind: 'station' as const,
        of,
        from: from?.state ?? null,
        to: to?.state ?? null,
        text: t`${of}: ${said(stationWords(from?.state), stationWords(to?.state))}`,
      },
    })),
    ...pairs(before, now, (s) => s.bases).map(({ from, to, any: { of } }) => ({
      same: from?.state === to?.state,
      transition: {
        kind: 'base' as const,
        of,
        from: from?.state ?? null,
        to: to?.state ?? null,
        text: t`base ${of}: ${said(from && baseWords[from.state], to && baseWords[to.state])}`,
      },
    })),
  ];
  return all.flatMap(({ transition, same }) =>
    same && !again.has(transitionKey(transition)) ? [] : [transition],
  );
}

interface Pair<T> {
  readonly from: T | undefined;
  readonly to: T | undefined;
  /** The one that is there. */
  readonly any: T;
}

/** The same things before and now. */
function pairs<T extends { readonly of: string; readonly trigger?: string; readonly stream?: string }>(
  before: Standings | undefined,
  now: Standings,
  pick: (s: Standings) => readonly T[],
): Pair<T>[] {
  const key = ({ of, trigger, stream }: T): string => JSON.stringify([of, trigger, stream]);
  const old = new Map(before ? pick(before).map((item) => [key(item), item]) : []);
  const there = pick(now).map((to): Pair<T> => {
    const from = old.get(key(to));
    old.delete(key(to));
    return { from, to, any: to };
  });
  return [...there, ...[...old.values()].map((from) => ({ from, to: undefined, any: from }))];
}

function sameTrigger(a: OfTrigger | undefined, b: OfTrigger | undefined): boolean {
  return (
    a?.state.condition === b?.state.condition &&
    a?.state.level === b?.state.level &&
    a?.state.levelName === b?.state.levelName
  );
}
