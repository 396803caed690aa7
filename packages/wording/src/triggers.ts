import type {
  ChangeRecord,
  EvaluationRecord,
  HighestLevel,
  Snapshot,
  TriggerRecord,
  TriggerState,
  WatchedRecord,
} from '@stillmark/records';
import { t, translated } from '@stillmark/words';
import { count, formatNumber, formatShort, formatSize, formatToMatch, list } from './numbers.ts';
import { formatSpan, type ZoneClock } from './times.ts';

/** Words of a condition; `measured` goes without saying. */
export const conditionWords = translated({
  measured: 'measured',
  establishing: 'establishing',
  stale: 'stale',
  'no-data': 'no data',
  'in-doubt': 'in doubt',
  ended: 'ended',
});

const quantityWords: Readonly<Record<TriggerRecord['quantity'], string>> = translated({
  horizontal: 'horizontal',
  east: 'east',
  north: 'north',
  longitudinal: 'longitudinal',
  transverse: 'transverse',
  up: 'up or down',
  distance: 'change of distance',
  settlement: 'the second against the first, up or down',
  tilt: 'tilt from the first to the second',
});

/** What the signs of a quantity mean, where only one side is watched. */
const sideWords: Readonly<Record<TriggerRecord['quantity'], readonly [positive: string, negative: string]>> =
  translated({
    horizontal: ['', ''],
    east: ['eastward only', 'westward only'],
    north: ['northward only', 'southward only'],
    longitudinal: ['forward only', 'backward only'],
    transverse: ['to the right only', 'to the left only'],
    up: ['upward only', 'downward only'],
    distance: ['growing only', 'shrinking only'],
    settlement: ['rise of the second only', 'settlement of the second only'],
    tilt: ['rise of the second only', 'settlement of the second only'],
  });

/** `transverse (downstream), rate over 60 days`. */
export function quantityText(
  { quantity, rateOverMs, figures, side }: TriggerRecord,
  { axes }: Pick<Snapshot['project'], 'axes'>,
): string {
  const across = quantity === 'transverse' ? axes?.transverse : undefined;
  const words = across === undefined ? quantityWords[quantity] : t`transverse (${across})`;
  const [positive, negative] =
    across === undefined ? sideWords[quantity] : [t`${across} only`, t`against ${across} only`];
  const sided =
    side === 'either' || quantity === 'horizontal' ? '' : `, ${side === 'positive' ? positive : negative}`;
  const rate = rateOverMs === undefined ? '' : t`, rate over ${formatSpan(rateOverMs)}`;
  return `${words}${rate}${sided}${figures === 'raw' ? '' : t`, less the committed response`}`;
}

/** `8 mm`, `1.5 mm in 30 days`: a level with its unit. */
export function levelSize({ unit }: Pick<TriggerRecord, 'unit'>, at: number): string {
  return `${formatShort(at)}\u202f${unitWords(unit)}`;
}

function unitWords(unit: TriggerRecord['unit']): string {
  return unit === 'mm/30 d' ? t`mm in 30 days` : unit;
}

/** `level 1 (attention, 8 mm)`. */
export function levelText(trigger: TriggerRecord, level: number): string {
  const own = trigger.levels[level - 1];
  return own ? t`level ${level} (${own.name}, ${levelSize(trigger, own.at)})` : t`no level`;
}

/** `at level 1 (attention, 8 mm)`, `no data, last at level 1 (…)`, `no level reached`. */
export function triggerStateText(trigger: TriggerRecord, { condition, level }: TriggerState): string {
  const where = level > 0 ? t`at ${levelText(trigger, level)}` : t`no level reached`;
  switch (condition) {
    case 'measured':
      return where;
    case 'in-doubt':
      return level > 0
        ? t`in doubt; its own figures are ${where}`
        : t`in doubt; its own figures reach no level`;
    case 'establishing':
      return t`establishing: not watched yet`;
    case 'stale':
    case 'no-data':
      return `${conditionWords[condition]}${level > 0 ? t`, last ${where}` : ''}`;
    case 'ended':
      return t`watched no more${level > 0 ? t`, last ${where}` : ''}`;
  }
}

/** `17.1 mm ± 2.2 mm`. */
export function evaluationText(
  { unit }: Pick<TriggerRecord, 'unit'>,
  { value, plusMinus }: EvaluationRecord,
): string {
  const words = unitWords(unit);
  if (plusMinus === undefined) return `${formatNumber(value, 1)}\u202f${words}`;
  return `${formatToMatch(value, plusMinus)} ± ${formatSize(plusMinus, words)}`;
}

/** What made a change: `2 of the last 3 means of 24 h: 9.6 ± 2.1, 10.2 ± 2.1, 10.6 ± 2.1 mm`. */
export function madeText(trigger: TriggerRecord, { made, to, from, why }: ChangeRecord): string {
  if (why !== undefined) return why;
  if (to.level === from.level && to.condition !== 'measured') {
    const newest = made.at(-1);
    return newest ? t`newest mean ${evaluationText(trigger, newest)}` : t`no mean`;
  }
  if (made.length === 0) return '';
  const means = made.map(({ value, plusMinus }) =>
    plusMinus === undefined
      ? formatNumber(value, 1)
      : `${formatToMatch(value, plusMinus)} ± ${formatToMatch(plusMinus, plusMinus)}`,
  );
  return `${means.join('; ')} ${unitWords(trigger.unit)}`;
}

/** How a trigger judges, in a sentence. */
export function ruleSentence(trigger: TriggerRecord): string {
  const { basis, persistence, release, windowMs, missing, rateOverMs } = trigger;
  const what = rateOverMs === undefined ? t`mean` : t`rate`;
  const passes =
    basis === 'confident'
      ? t`the nearer end of the interval of a ${what} must pass a level`
      : t`the ${what} itself must pass a level, without its interval`;
  const often =
    persistence.of === 1
      ? t`a single one is enough`
      : t`${persistence.needed} of the newest ${persistence.of} are asked, the newest among them`;
  const left = t`left when as many are themselves below ${formatNumber(100 * release, 0)}\u202f% of the level`;
  const gap =
    missing.means === 'passed over' ? t`a missing one is passed over` : t`a missing one counts as neither`;
  return t`Watched every ${formatSpan(windowMs)}: ${passes}; ${often}; a level is ${left}; ${gap}, and without any for ${formatSpan(missing.noDataAfterMs)} there is no data.${rateOverMs === undefined ? '' : t` The interval of a rate is that of noise learnt before its span.`}`;
}

interface Standing {
  readonly trigger: TriggerRecord;
  readonly watched: WatchedRecord;
}

const standings = (triggers: readonly TriggerRecord[]): Standing[] =>
  triggers.flatMap((trigger) => trigger.watched.map((watched) => ({ trigger, watched })));

/** Levels that are reached, highest first; what is in doubt or without data among them is said so. */
export function reachedSentences({ triggers }: Pick<Snapshot, 'triggers'>, clock: ZoneClock): string[] {
  return standings(triggers)
    .filter(({ watched: { state } }) => state.level > 0 && state.condition !== 'ended')
    .toSorted((a, b) => b.watched.state.level - a.watched.state.level)
    .map(({ trigger, watched: { of, state, newest, changes } }) => {
      const rise = changes.findLast(({ from, to }) => to.level > from.level);
      const since = rise ? t` since ${clock.date(Date.parse(rise.at))}` : '';
      const size = newest
        ? t`: ${evaluationText(trigger, newest)}, ${trigger.rateOverMs === undefined ? t`mean of ${formatSpan(trigger.windowMs)}` : t`rate over ${formatSpan(trigger.rateOverMs)}`} up to ${clock.dateTime(Date.parse(newest.at))}`
        : '';
      const who = trigger.levels[state.level - 1]!.responsible;
      return t`${of}, ${trigger.name}: ${triggerStateText(trigger, state)}${since}${size}. For: ${who}.`;
    });
}

/** What is watched and how it stands, in one sentence; undefined where the project has no triggers. */
export function watchSentence({ triggers }: Pick<Snapshot, 'triggers'>): string | undefined {
  if (triggers.length === 0) return undefined;
  const all = standings(triggers).filter(({ watched }) => watched.state.condition !== 'ended');
  const of = (keep: (w: WatchedRecord) => boolean): number =>
    all.filter(({ watched }) => keep(watched)).length;
  const reached = of(({ state }) => state.level > 0);
  const quiet = of(({ state }) => state.level === 0 && state.condition === 'measured');
  const words: [string, number][] = [
    [t`stale`, of(({ state }) => state.level === 0 && state.condition === 'stale')],
    [t`without data`, of(({ state }) => state.level === 0 && state.condition === 'no-data')],
    [t`in doubt`, of(({ state }) => state.level === 0 && state.condition === 'in-doubt')],
    [t`not watched yet`, of(({ state }) => state.condition === 'establishing')],
  ];
  const rest = words.filter(([, n]) => n > 0).map(([what, n]) => `${formatNumber(n, 0)} ${what}`);
  const figures = t`Of ${count(all.length, 'figure')} under ${count(triggers.length, 'trigger')}`;
  const none = formatNumber(quiet, 0);
  if (reached + quiet === 0) return t`${figures} none is measured: ${list(rest)}.`;
  if (reached === 0)
    return t`${figures} none of ${none} that are measured reaches a level${rest.length > 0 ? `; ${list(rest)}` : ''}.`;
  return `${figures} ${list([t`a level is reached in ${formatNumber(reached, 0)}`, t`none in ${none} that are measured`, ...rest])}.`;
}

/** The highest level that is reached anywhere, in doubt or without data too; undefined where no levels are set. */
export function highestLevel({ triggers }: Pick<Snapshot, 'triggers'>): HighestLevel | undefined {
  if (triggers.length === 0) return undefined;
  const reached = standings(triggers).filter(({ watched: { state } }) => state.condition !== 'ended');
  const number = Math.max(0, ...reached.map(({ watched }) => watched.state.level));
  const names = reached.flatMap(({ trigger, watched }) =>
    number > 0 && watched.state.level === number ? [trigger.levels[number - 1]!.name] : [],
  );
  return { number, names: [...new Set(names)] };
}

/** What triggers watch of a station, and how it stands. */
export function levelsOf(
  { triggers }: Pick<Snapshot, 'triggers'>,
  id: string,
): { trigger: TriggerRecord; watched: WatchedRecord }[] {
  return standings(triggers).filter(
    ({ trigger, watched }) =>
      watched.of === id && !isPairQuantity(trigger) && watched.state.condition !== 'ended',
  );
}

const isPairQuantity = ({ quantity }: TriggerRecord): boolean =>
  quantity === 'distance' || quantity === 'settlement' || quantity === 'tilt';

/** A change with its trigger and what it is of; the log is all of them, newest first. */
export interface LogEntry {
  readonly trigger: TriggerRecord;
  readonly of: string;
  readonly change: ChangeRecord;
}

/** Stations or pairs that a trigger began to watch at one time, which is no news of any of them. */
export interface LogBegin {
  readonly trigger: TriggerRecord;
  readonly at: string;
  readonly of: readonly string[];
}

/** The log without its begins, and those, told together. */
export function withoutBegins(log: readonly LogEntry[]): { changes: LogEntry[]; begins: LogBegin[] } {
  const isBegin = ({ change: { from, to } }: LogEntry): boolean =>
    from.condition === 'establishing' && to.condition === 'measured' && to.level === 0;
  const begins: { trigger: TriggerRecord; at: string; of: string[] }[] = [];
  for (const { trigger, of, change } of log.filter(isBegin)) {
    const known = begins.find((b) => b.trigger === trigger && b.at === change.at);
    if (known) known.of.push(of);
    else begins.push({ trigger, at: change.at, of: [of] });
  }
  return { changes: log.filter((entry) => !isBegin(entry)), begins };
}

export function logOf({ triggers }: Pick<Snapshot, 'triggers'>): LogEntry[] {
  return standings(triggers)
    .flatMap(({ trigger, watched: { of, changes } }) => changes.map((change) => ({ trigger, of, change })))
    .toSorted((a, b) => (a.change.at < b.change.at ? 1 : a.change.at > b.change.at ? -1 : 0));
}

/** Changes of one trigger at one time that reach and leave no level, told together: an outage of many is one line. */
export function together(entries: readonly LogEntry[]): LogEntry[][] {
  const groups: LogEntry[][] = [];
  const same = (a: LogEntry, b: LogEntry): boolean =>
    a.trigger === b.trigger &&
    a.change.at === b.change.at &&
    a.change.why === b.change.why &&
    [a, b].every(({ change: { from, to } }) => from.level === to.level) &&
    a.change.to.level === b.change.to.level &&
    a.change.from.condition === b.change.from.condition &&
    a.change.to.condition === b.change.to.condition;
  for (const entry of entries) {
    const known = groups.find((group) => same(group[0]!, entry));
    if (known) known.push(entry);
    else groups.push([entry]);
  }
  return groups;
}

/** Changes to a higher level that nobody has acknowledged. */
export function unacknowledged(log: readonly LogEntry[]): LogEntry[] {
  return log.filter(({ change }) => change.to.level > change.from.level && !change.acknowledged);
}

/** What a change is, in a line: `T07, downstream movement: level 1 (attention, 8 mm) reached`. */
export function changeTitle({ trigger, of, change: { from, to } }: LogEntry): string {
  const name = `${of}, ${trigger.name}`;
  if (to.level > from.level) {
    const doubt = to.condition === 'in-doubt' ? t`, while in doubt` : '';
    return t`${name}: ${levelText(trigger, to.level)} reached${doubt}`;
  }
  if (to.level < from.level)
    return t`${name}: ${levelText(trigger, from.level)} left, now ${triggerStateText(trigger, to)}`;
  if (from.condition === 'establishing' && to.condition === 'measured')
    return t`${name}: watched from here on`;
  if (to.condition === 'measured') return t`${name}: measured again, ${triggerStateText(trigger, to)}`;
  return `${name}: ${triggerStateText(trigger, to)}`;
}

/** The name of a change on the page of the log: names may be in any script, addresses may not. */
export function changeAnchor({ trigger, of, change }: LogEntry): string {
  const name = `${of} ${trigger.name}`.replace(/[^A-Za-z0-9]/gu, (c) => `-${c.codePointAt(0)!.toString(36)}`);
  return `${name}-${change.at.replace(/[^0-9TZ]/g, '')}-${change.to.level}${change.to.condition}`;
}

/** `T01 (0.5 ± 1.8 mm)`, and that a figure is beyond a level though it is not reached. */
export function unreachedText({ of, newest }: WatchedRecord, trigger: TriggerRecord): string {
  if (!newest) return of;
  const { side, levels } = trigger;
  const size =
    side === 'either' ? Math.abs(newest.value) : side === 'positive' ? newest.value : -newest.value;
  const beyond = levels.filter(({ at }) => size >= at).length;
  const said = beyond > 0 ? t`, beyond ${levelSize(trigger, levels[beyond - 1]!.at)} but not confirmed` : '';
  return `${of} (${evaluationText(trigger, newest)}${said})`;
}
