import { msg, plural, t, translated } from '@stillmark/words';
import { lessHeadline } from './response.ts';
import type {
  DisplacementStatement,
  ProposedChange,
  Snapshot,
  StationRecord,
  StatementSettings,
  StreamRecord,
  StreamView,
  TieRecord,
} from '@stillmark/records';
import { count, formatPercent, formatSize, formatSizeRange, list, paragraph } from './numbers.ts';
import { acrossText, inCases, verticalText } from './phrases.ts';
import { untiedSentence } from './evidence.ts';
import { decisionOn, doubtedIn, doubtedSentence } from './stability.ts';
import { formatSpan, type ZoneClock } from './times.ts';

/** Words and figures of a state, for labels that must be read without colour. */
export const stateWords = translated({
  moved: 'moved',
  still: 'no movement distinguishable',
  held: 'held',
  'no-data': 'no data',
  establishing: 'establishing',
  'not-statable': 'cannot be stated',
  doubted: 'in doubt',
});

export type StationState = keyof typeof stateWords;

export function stateOf({ statement }: Pick<StreamView, 'statement'>): StationState {
  if (statement.kind !== 'displacement') return statement.kind;
  return statement.horizontal.distinguishable || statement.up.distinguishable ? 'moved' : 'still';
}

/** The state of a station within its site: what is told from a base in doubt is never called moved or still on its word. */
export function stateIn(
  snapshot: Pick<Snapshot, 'network' | 'stations'>,
  station: Pick<StationRecord, 'role' | 'statement' | 'stream' | 'untied'>,
): StationState {
  const own = stateOf(station);
  const base = baseOf(station);
  const byBase = station.role === 'monitoring' && base !== undefined && doubtedBases(snapshot).includes(base);
  const doubted = (own === 'moved' || own === 'still') && (byBase || station.untied !== undefined);
  return doubted ? 'doubted' : own;
}

/** What is said of a station of a site: its sentence, or that it is in doubt. */
export function siteSentence(snapshot: Snapshot, station: StationRecord, clock: ZoneClock): string {
  if (stateIn(snapshot, station) !== 'doubted') return stationSentence(station, snapshot.settings, clock);
  if (station.untied) return untiedSentence(station.id, station.untied, clock);
  return doubtedSentence(station, baseOf(station)!, snapshot.settings);
}

/** The sentence on one station: estimate, uncertainty, direction, since when, and what could not have been seen. */
export function stationSentence(
  station: StreamView & Pick<StationRecord, 'id' | 'role'>,
  settings: StatementSettings,
  clock: ZoneClock,
): string {
  const { id, statement } = station;
  switch (statement.kind) {
    case 'held':
      return t`${id} is held at given coordinates: its own movement cannot be seen in positions that are computed from it.`;
    case 'no-data':
      return station.data
        ? t`${id} has sent no usable positions in the last ${formatHours(settings.statementMs)}; the newest is of ${clock.dateTime(Date.parse(station.data.last))}.`
        : t`${id} has no positions.`;
    case 'establishing': {
      const days = Math.floor(statement.observedDays);
      return days < statement.neededDays
        ? plural(
            statement.neededDays,
            msg`${id} is not ready: ${days} of ${statement.neededDays} day observed, and no reference position is committed.`,
            msg`${id} is not ready: ${days} of ${statement.neededDays} days observed, and no reference position is committed.`,
          )
        : t`${id} has been observed for ${count(days, 'day')}, but no reference position is committed.`;
    }
    case 'not-statable':
      return t`${id} cannot be stated, because ${statement.reason}.`;
    case 'displacement':
      return displacementSentence(station, statement, settings, clock);
  }
}

function displacementSentence(
  station: StreamView & Pick<StationRecord, 'id' | 'role'>,
  s: DisplacementStatement,
  settings: StatementSettings,
  clock: ZoneClock,
): string {
  const { horizontal, up } = s;
  const sure = formatPercent(settings.confidence);
  const across = acrossText(horizontal, sure);
  const vertical = verticalText(up, sure);
  const cases = inCases(settings.power);
  const [least, leastUp] = [formatSize(horizontal.detectable_mm), formatSize(up.detectable_mm)];
  const { id, reference } = station;
  // A displacement is told from a reference position; a snapshot without its dates is not ours.
  const period = reference ? clock.days(Date.parse(reference.from), Date.parse(reference.to)) : '–';
  // Of two bases it is not known which one moves.
  const base = station.role === 'base' ? baseOf(station) : undefined;
  if (horizontal.distinguishable && up.distinguishable)
    return base === undefined
      ? t`${id} has moved ${across} and ${vertical} against its reference position of ${period}.`
      : t`${id}, seen from ${base}, seems to have moved ${across} and ${vertical} against its reference position of ${period}.`;
  if (horizontal.distinguishable)
    return base === undefined
      ? t`${id} has moved ${across} against its reference position of ${period}; up or down, no movement is distinguishable: ${leastUp} would have been seen ${cases}.`
      : t`${id}, seen from ${base}, seems to have moved ${across} against its reference position of ${period}; up or down, no movement is distinguishable: ${leastUp} would have been seen ${cases}.`;
  if (up.distinguishable)
    return base === undefined
      ? t`${id} has moved ${vertical} against its reference position of ${period}; horizontally, no movement is distinguishable: ${least} would have been seen ${cases}.`
      : t`${id}, seen from ${base}, seems to have moved ${vertical} against its reference position of ${period}; horizontally, no movement is distinguishable: ${least} would have been seen ${cases}.`;
  return t`${id}: no movement distinguishable against its reference position of ${period}; ${least} horizontally or ${leastUp} up or down would have been seen ${cases}.`;
}

function formatHours(ms: number): string {
  return `${ms / 3_600_000} h`;
}

/** The answer to 'has anything moved?' in a few short sentences. */
export function headlineSentence(snapshot: Snapshot): string {
  return headlineSentences(snapshot).join(' ');
}

/** The same sentence by sentence. */
export function headlineSentences(snapshot: Snapshot): string[] {
  const { moved, still, open, doubted } = snapshot.headline;
  if (moved.length + still.length + doubted.length === 0) {
    return [
      t`Nothing can be said yet: none of ${count(open.length, 'monitoring station')} has a committed reference position and present data.`,
    ];
  }
  const stations = new Map(snapshot.stations.map((station) => [station.id, station]));
  // The rate of a station whose base is in doubt may be that of the base.
  const inDoubt = doubtedBases(snapshot);
  const moving = still.filter((id) => {
    const station = stations.get(id);
    const base = station && baseOf(station);
    return isMoving(station) && !(base !== undefined && inDoubt.includes(base));
  });
  const quiet = still.filter((id) => !moving.includes(id));
  const silent = open.filter((id) => stations.get(id)?.statement.kind === 'no-data');
  const others = open.filter((id) => !silent.includes(id));
  const parts: string[] = [];
  if (moved.length > 0)
    parts.push(plural(moved.length, msg`${list(moved)} has moved.`, msg`${list(moved)} have moved.`));
  if (moving.length > 0)
    parts.push(t`At ${list(moving)} a rate is distinguishable, though no displacement yet.`);
  if (quiet.length > 0) parts.push(t`At ${list(quiet)} no movement is distinguishable.`);
  if (silent.length > 0)
    parts.push(
      plural(
        silent.length,
        msg`${list(silent)} sends no data at present.`,
        msg`${list(silent)} send no data at present.`,
      ),
    );
  if (doubted.length > 0)
    parts.push(
      doubted.some((id) => stations.get(id)?.untied)
        ? t`Of ${list(doubted)} nothing can be said while what they are computed from is in doubt.`
        : t`Of ${list(doubted)} nothing can be said while their base is in doubt.`,
    );
  if (others.length > 0) parts.push(t`Of ${list(others)} nothing can be stated yet.`);
  const less = lessHeadline(snapshot);
  if (less) parts.push(less);
  const disagreement = basesSentence(snapshot);
  if (disagreement) parts.push(disagreement);
  return parts;
}

/** How often a site on which nothing moves would say otherwise. */
export function chanceSentence({ headline, settings, stations }: Snapshot): string {
  const bases = stations.filter(
    ({ role, statement }) => role === 'base' && statement.kind === 'displacement',
  );
  const [tests, chance] = [count(headline.tests, 'figure'), formatPercent(settings.familySignificance)];
  return bases.length > 0
    ? t`Chance of a wrong 'moved' anywhere among the ${tests} that are tested together, those of ${list(bases.map(({ id }) => id))} included: about ${chance}.`
    : t`Chance of a wrong 'moved' anywhere among the ${tests} that are tested together: about ${chance}.`;
}

/** Whether a rate is distinguishable. */
export function isMoving(view: Pick<StreamView, 'statement'> | undefined): boolean {
  const s = view?.statement;
  if (s?.kind !== 'displacement' || !s.rate) return false;
  return s.rate.horizontal.distinguishable || s.rate.up?.distinguishable === true;
}

/** Stations without distinguishable movement in one sentence, with the range of what would have been seen. */
export function stillSentence(snapshot: Snapshot): string | undefined {
  const { stations, settings, headline } = snapshot;
  const inDoubt = doubtedBases(snapshot);
  const still = stations.flatMap(({ id, role, statement, stream }) =>
    role === 'monitoring' &&
    headline.still.includes(id) &&
    !(stream?.kind === 'relative' && inDoubt.includes(stream.base)) &&
    statement.kind === 'displacement' &&
    stateOf({ statement }) === 'still' &&
    !isMoving({ statement })
      ? [{ id, statement }]
      : [],
  );
  if (still.length === 0) return undefined;
  const range = (of: (s: DisplacementStatement) => number): string => {
    return formatSizeRange(still.map(({ statement }) => of(statement)));
  };
  return t`${list(still.map(({ id }) => id))}: no movement distinguishable; ${range((s) => s.horizontal.detectable_mm)} horizontally or ${range((s) => s.up.detectable_mm)} up or down, by station, would have been seen ${inCases(settings.power)}.`;
}

/** How fast a station moves over the last span; nothing where no rate is stated. */
export function rateSentence(
  { statement }: Pick<StreamView, 'statement'>,
  settings: StatementSettings,
): string | undefined {
  if (statement.kind !== 'displacement' || !statement.rate) return undefined;
  const { horizontal, up, perDays } = statement.rate;
  const displaced = stateOf({ statement }) === 'moved';
  const span = formatSpan(settings.rateMs);
  const sure = formatPercent(settings.confidence);
  const found = [
    horizontal.distinguishable ? acrossText(horizontal, sure) : '',
    up?.distinguishable ? verticalText(up, sure) : '',
  ].filter(Boolean);
  if (found.length > 0)
    return displaced || !isMoving({ statement })
      ? t`Over the last ${span} it moved at ${list(found)} in ${perDays} days.`
      : t`Yet over the last ${span} it moved at ${list(found)} in ${perDays} days.`;
  const [least, cases] = [formatSize(horizontal.detectable_mm), inCases(settings.power)];
  return up
    ? t`Over the last ${span} no rate is distinguishable; ${least} horizontally or ${formatSize(up.detectable_mm)} up or down in ${perDays} days would have been seen ${cases}.`
    : t`Over the last ${span} no rate is distinguishable; ${least} horizontally in ${perDays} days would have been seen ${cases}.`;
}

/** How fast a station has moved over all its time; nothing where that is too short to say. */
export function velocitySentence(
  { trajectory }: Pick<StreamView, 'trajectory'>,
  settings: StatementSettings,
  clock: ZoneClock,
): string | undefined {
  if (!trajectory) return undefined;
  const { horizontal, up, from, to } = trajectory.velocity;
  const sure = formatPercent(settings.confidence);
  const span = clock.days(Date.parse(from), Date.parse(to));
  const found = [
    horizontal.distinguishable ? acrossText(horizontal, sure) : '',
    up?.distinguishable ? verticalText(up, sure) : '',
  ].filter(Boolean);
  if (found.length > 0) return t`Over all its time, ${span}, it moved by ${list(found)} a year on average.`;
  const [least, cases] = [formatSize(horizontal.detectable_mm), inCases(settings.power)];
  return up
    ? t`Over all its time, ${span}, no lasting movement is distinguishable; ${least} horizontally or ${formatSize(up.detectable_mm)} up or down a year would have been seen ${cases}.`
    : t`Over all its time, ${span}, no lasting movement is distinguishable; ${least} horizontally a year would have been seen ${cases}.`;
}

/** A change that a search found and no event names. */
export function changeSentence(
  change: ProposedChange,
  settings: StatementSettings,
  clock: ZoneClock,
): string {
  const { kind, east_mm, north_mm, up_mm } = change;
  const azimuth = (Math.atan2(east_mm, north_mm) * 180) / Math.PI;
  const direction = Math.atan2(east_mm, north_mm);
  // Along the direction of the change, as if the two axes were independent.
  const half = Math.hypot(
    Math.sin(direction) * change.eastPlusMinus_mm,
    Math.cos(direction) * change.northPlusMinus_mm,
  );
  const sure = formatPercent(settings.confidence);
  const across = acrossText(
    { magnitude_mm: Math.hypot(east_mm, north_mm), plusMinus_mm: half, azimuthDeg: (azimuth + 360) % 360 },
    sure,
  );
  const vertical =
    Math.abs(up_mm) > change.upPlusMinus_mm
      ? [verticalText({ value_mm: up_mm, plusMinus_mm: change.upPlusMinus_mm }, sure)]
      : [];
  const size = list([across, ...vertical]);
  const day = (at: string): string => clock.date(Date.parse(at));
  const when =
    day(change.earliest) === day(change.latest)
      ? day(change.at)
      : t`${day(change.at)} (between ${day(change.earliest)} and ${day(change.latest)})`;
  return kind === 'step'
    ? t`A step that no event names, about ${when}: ${size}. It stands in the figures as movement.`
    : t`From about ${when} on it moves at another rate: by ${size} a year more than before.`;
}

/** A step that is no movement and is taken off. */
export function tieSentence(tie: TieRecord, settings: StatementSettings, clock: ZoneClock): string {
  const azimuth = (Math.atan2(tie.east_mm, tie.north_mm) * 180) / Math.PI;
  const sure = formatPercent(settings.confidence);
  const across = acrossText(
    {
      magnitude_mm: Math.hypot(tie.east_mm, tie.north_mm),
      plusMinus_mm: tie.horizontalPlusMinus_mm,
      azimuthDeg: (azimuth + 360) % 360,
    },
    sure,
  );
  const vertical = verticalText({ value_mm: tie.up_mm, plusMinus_mm: tie.upPlusMinus_mm }, sure);
  return t`${clock.dateTime(Date.parse(tie.at))}, ${tie.what}: a step of ${across} and ${vertical} is no movement and is taken off.`;
}

/** Can the network be trusted? What the bases show, and what they cannot. */
export function networkSentences(snapshot: Snapshot): string[] {
  const { held, pairs } = snapshot.network;
  const out: string[] = [];
  if (held.length > 0)
    out.push(
      plural(
        held.length,
        msg`${list(held)} is held: if it moves, every station computed from it seems to move the other way, all by the same amount.`,
        msg`${list(held)} are held, each in a processing of its own: if one of them moves, every station computed from it seems to move the other way, all by the same amount, and from the others it does not.`,
      ),
    );
  for (const pair of pairs) out.push(pairSentence(pair, viewOfPair(snapshot, pair), snapshot.settings));
  const disagreement = disagreementSentence(snapshot);
  if (disagreement) out.push(disagreement);
  out.push(...absoluteSentences(snapshot));
  const bases = new Set(pairs.flatMap((p) => [p.held, p.seen]));
  if (pairs.length === 0) {
    out.push(
      t`With one base and no other, its movement cannot be told from movement of everything: a second base, a check survey or an absolute solution would settle it.`,
    );
  } else if (bases.size === 2) {
    out.push(
      t`With two bases a disagreement would be seen, but not whose it is: a third base or a check survey would settle it.`,
    );
  }
  return out;
}

/** What absolute positions say of the bases: evidence from outside the network. */
function absoluteSentences({ stations, settings }: Snapshot): string[] {
  return stations.flatMap((station) =>
    [station, ...station.others].flatMap(({ stream, statement: s }) => {
      if (station.role !== 'base' || stream?.kind !== 'absolute' || s.kind !== 'displacement') return [];
      const { horizontal, up } = s;
      const plate = stream.plate.name;
      if (stateOf({ statement: s }) === 'still')
        return [
          t`By its absolute positions on the plate ${plate} (stream ${stream.name}), no movement of ${station.id} is distinguishable; ${formatSize(horizontal.detectable_mm)} horizontally or ${formatSize(up.detectable_mm)} up or down would have been seen ${inCases(settings.power)}.`,
        ];
      return [
        t`By its absolute positions on the plate ${plate} (stream ${stream.name}), ${station.id} has moved ${acrossText(horizontal)} and ${verticalText(up)} (${formatPercent(settings.confidence)}).`,
      ];
    }),
  );
}

/** The base from which a view sees its station; nothing of absolute positions. */
export function baseOf({ stream }: Pick<StreamView, 'stream'>): string | undefined {
  return stream?.kind === 'relative' ? stream.base : undefined;
}

/** `seen from B1`, or `in absolute positions`. */
export function seenText(stream: StreamRecord): string {
  return stream.kind === 'relative' ? t`seen from ${stream.base}` : t`in absolute positions`;
}

/** What a stream says of a station. */
export function viewIn(station: StationRecord, stream: string): StreamView | undefined {
  return [station, ...station.others].find((view) => view.stream?.name === stream);
}

type Pair = Snapshot['network']['pairs'][number];

function pairSentence(
  { held, seen }: Pair,
  view: StreamView | undefined,
  settings: StatementSettings,
): string {
  const s = view?.statement;
  if (s?.kind !== 'displacement') return t`${seen} cannot be compared with ${held} at present.`;
  const rate = isMoving({ statement: s }) ? rateSentence({ statement: s }, settings) : undefined;
  const { horizontal, up } = s;
  if (!horizontal.distinguishable && !up.distinguishable)
    return paragraph([
      t`Seen from ${held}, no movement of ${seen} is distinguishable; ${formatSize(horizontal.detectable_mm)} horizontally or ${formatSize(up.detectable_mm)} up or down between the two would have been seen ${inCases(settings.power)}.`,
      rate,
    ]);
  const sure = formatPercent(settings.confidence);
  const sizes = [
    ...(horizontal.distinguishable ? [acrossText(horizontal, sure)] : []),
    ...(up.distinguishable ? [verticalText(up, sure)] : []),
  ];
  return paragraph([t`Seen from ${held}, ${seen} seems to have moved ${list(sizes)}.`, rate]);
}

interface Disagreement {
  readonly bases: readonly string[];
  /** The one base that is in every pair that changed and in no other; undefined where there is none such. */
  readonly suspect: string | undefined;
}

/** Whether pairs of bases changed, and which base they speak for; undefined where none did. */
function disagreementOf(snapshot: Pick<Snapshot, 'network' | 'stations'>): Disagreement | undefined {
  const { pairs } = snapshot.network;
  const states = pairs.map((pair) => {
    const view = viewOfPair(snapshot, pair);
    return view && stateOf(view);
  });
  const moved = pairs.filter((_, i) => states[i] === 'moved');
  const still = pairs.filter((_, i) => states[i] === 'still');
  if (moved.length === 0) return undefined;
  const bases = [...new Set(pairs.flatMap((p) => [p.held, p.seen]))];
  const has = (pair: Pair, base: string): boolean => pair.held === base || pair.seen === base;
  const suspects = bases.filter(
    (base) => moved.every((pair) => has(pair, base)) && !still.some((pair) => has(pair, base)),
  );
  return { bases, suspect: suspects.length === 1 ? suspects[0] : undefined };
}

function viewOfPair(snapshot: Pick<Snapshot, 'stations'>, { seen, stream }: Pair): StreamView | undefined {
  return viewIn(
    snapshot.stations.find((s) => s.id === seen)!,
    stream,
  );
}

/** Bases whose figures are in doubt: the one that the pairs speak for, or all of them where they single out none. */
export function doubtedBases(snapshot: Pick<Snapshot, 'network' | 'stations'>): readonly string[] {
  const { network } = snapshot;
  const found = disagreementOf(snapshot);
  const byPairs = !found ? [] : found.suspect === undefined ? found.bases : [found.suspect];
  return doubtedIn(network, byPairs);
}

/** The paragraph on what the bases show of each other; nothing where they agree. */
export function disagreementSentence(snapshot: Snapshot): string | undefined {
  // Where the bases are tested day by day, that test speaks.
  if (snapshot.network.stability) return basesSentence(snapshot);
  const found = disagreementOf(snapshot);
  return found && whoMoved(snapshot, found);
}

/** For the answer at the head of the page: a base that moves looks like movement of everything. */
function basesSentence(snapshot: Snapshot): string | undefined {
  const { network } = snapshot;
  const doubted = doubtedBases(snapshot);
  if (doubted.length === 0) return undefined;
  const decided = doubted.filter((base) => decisionOn(network, base)?.finding === 'moving');
  if (decided.length === doubted.length)
    return plural(
      doubted.length,
      msg`By decision, ${list(doubted)} moves, and figures computed from it are in doubt.`,
      msg`By decision, ${list(doubted)} move, and figures computed from them are in doubt.`,
    );
  const all = network.stability?.bases ?? disagreementOf(snapshot)?.bases ?? [];
  if (doubted.length >= all.length)
    return t`The bases disagree with each other, so every figure is in doubt.`;
  if (network.stability?.finding.kind === 'unclear')
    return t`The bases disagree with each other: figures computed from ${list(doubted)} are in doubt.`;
  return plural(
    doubted.length,
    msg`The bases disagree: base ${list(doubted)} seems to move, and figures computed from it are in doubt.`,
    msg`The bases disagree: base ${list(doubted)} seem to move, and figures computed from them are in doubt.`,
  );
}

/** Which base the changed pairs speak for, and what would settle it. */
function whoMoved(snapshot: Snapshot, { bases, suspect }: Disagreement): string {
  if (suspect === undefined) {
    return bases.length === 2
      ? t`These data alone cannot say which of the two moves: all movements on this page are in doubt until a check survey of both settles it.`
      : t`The pairs do not single out one base: all movements on this page are in doubt until a check survey of the bases settles it.`;
  }
  const others = bases.filter((base) => base !== suspect);
  return paragraph([
    t`Every pair that is displaced has ${suspect} in it, and no pair without it is: this speaks for ${suspect} as the one that moves, though ${list(others)} moving together would look the same. A check survey of ${suspect} would settle it.`,
    snapshot.network.held.includes(suspect)
      ? t`Figures computed from ${suspect} are in doubt until then.`
      : undefined,
  ]);
}
