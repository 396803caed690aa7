import type {
  ChangeRecord,
  EvaluationRecord,
  HighestLevel,
  Snapshot,
  TriggerRecord,
  TriggerState,
  WatchedRecord,
} from '@stillmark/records';
import { msg, plural, t, translated } from '@stillmark/words';
import {
  commas,
  count,
  formatNumber,
  formatShort,
  formatSize,
  formatToMatch,
  list,
  paragraph,
  semicolons,
} from './numbers.ts';
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
  const sided = side !== 'either' && quantity !== 'horizontal';
  return commas([
    words,
    ...(rateOverMs === undefined ? [] : [t`rate over ${formatSpan(rateOverMs)}`]),
    ...(sided ? [side === 'positive' ? positive : negative] : []),
    ...(figures === 'raw' ? [] : [t`less the committed response`]),
  ]);
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
  const reached = level > 0 ? levelText(trigger, level) : undefined;
  switch (condition) {
    case 'measured':
      return reached === undefined ? t`no level reached` : t`at ${reached}`;
    case 'in-doubt':
      return reached === undefined
        ? t`in doubt; its own figures reach no level`
        : t`in doubt; its own figures are at ${reached}`;
    case 'establishing':
      return t`establishing: not watched yet`;
    case 'stale':
      return reached === undefined ? conditionWords.stale : t`stale, last at ${reached}`;
    case 'no-data':
      return reached === undefined ? conditionWords['no-data'] : t`no data, last at ${reached}`;
    case 'ended':
      return reached === undefined ? t`watched no more` : t`watched no more, last at ${reached}`;
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
  return `${semicolons(means)} ${unitWords(trigger.unit)}`;
}

/** How a trigger judges, in a sentence. */
export function ruleSentence(trigger: TriggerRecord): string {
  const { basis, persistence, release, windowMs, missing, rateOverMs } = trigger;
  const silent = formatSpan(missing.noDataAfterMs);
  const rules = semicolons([
    passText(rateOverMs === undefined ? 'mean' : 'rate', basis),
    plural(
      persistence.of,
      msg`a single one is enough`,
      msg`${persistence.needed} of the newest ${persistence.of} are asked, the newest among them`,
    ),
    t`a level is left when as many are themselves below ${formatNumber(100 * release, 0)}\u202f% of the level`,
    missing.means === 'passed over'
      ? t`a missing one is passed over, and without any for ${silent} there is no data`
      : t`a missing one counts as neither, and without any for ${silent} there is no data`,
  ]);
  return paragraph([
    t`Watched every ${formatSpan(windowMs)}: ${rules}.`,
    rateOverMs === undefined ? undefined : t`The interval of a rate is that of noise learnt before its span.`,
  ]);
}

function passText(what: 'mean' | 'rate', basis: TriggerRecord['basis']): string {
  if (basis === 'confident')
    return what === 'mean'
      ? t`the nearer end of the interval of a mean must pass a level`
      : t`the nearer end of the interval of a rate must pass a level`;
  return what === 'mean'
    ? t`the mean itself must pass a level, without its interval`
    : t`the rate itself must pass a level, without its interval`;
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
      const own = triggerStateText(trigger, state);
      const stands = rise ? t`${own} since ${clock.date(Date.parse(rise.at))}` : own;
      const who = trigger.levels[state.level - 1]!.responsible;
      return paragraph([reachedSentence(trigger, of, stands, newest, clock), t`For: ${who}.`]);
    });
}

function reachedSentence(
  trigger: TriggerRecord,
  of: string,
  stands: string,
  newest: EvaluationRecord | undefined,
  clock: ZoneClock,
): string {
  const { name, windowMs, rateOverMs } = trigger;
  if (!newest) return t`${of}, ${name}: ${stands}.`;
  const [size, at] = [evaluationText(trigger, newest), clock.dateTime(Date.parse(newest.at))];
  return rateOverMs === undefined
    ? t`${of}, ${name}: ${stands}: ${size}, mean of ${formatSpan(windowMs)} up to ${at}.`
    : t`${of}, ${name}: ${stands}: ${size}, rate over ${formatSpan(rateOverMs)} up to ${at}.`;
}

/** What is watched and how it stands, in one sentence; undefined where the project has no triggers. */
export function watchSentence({ triggers }: Pick<Snapshot, 'triggers'>): string | undefined {
  if (triggers.length === 0) return undefined;
  const all = standings(triggers).filter(({ watched }) => watched.state.condition !== 'ended');
  const of = (keep: (w: WatchedRecord) => boolean): number =>
    all.filter(({ watched }) => keep(watched)).length;
  const reached = of(({ state }) => state.level > 0);
  const quiet = of(({ state }) => state.level === 0 && state.condition === 'measured');
  const words: [(n: string) => string, number][] = [
    [(n) => t`${n} stale`, of(({ state }) => state.level === 0 && state.condition === 'stale')],
    [(n) => t`${n} without data`, of(({ state }) => state.level === 0 && state.condition === 'no-data')],
    [(n) => t`${n} in doubt`, of(({ state }) => state.level === 0 && state.condition === 'in-doubt')],
    [(n) => t`${n} not watched yet`, of(({ state }) => state.condition === 'establishing')],
  ];
  const rest = words.filter(([, n]) => n > 0).map(([said, n]) => said(formatNumber(n, 0)));
  const [figures, under] = [count(all.length, 'figure'), count(triggers.length, 'trigger')];
  const none = formatNumber(quiet, 0);
  if (reached + quiet === 0) return t`Of ${figures} under ${under} none is measured: ${list(rest)}.`;
  if (reached === 0)
    return rest.length > 0
      ? t`Of ${figures} under ${under} none of ${none} that are measured reaches a level; ${list(rest)}.`
      : t`Of ${figures} under ${under} none of ${none} that are measured reaches a level.`;
  const found = [
    t`a level is reached in ${formatNumber(reached, 0)}`,
    t`none in ${none} that are measured`,
    ...rest,
  ];
  return t`Of ${figures} under ${under} ${list(found)}.`;
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
  const name = commas([of, trigger.name]);
  if (to.level > from.level)
    return to.condition === 'in-doubt'
      ? t`${name}: ${levelText(trigger, to.level)} reached, while in doubt`
      : t`${name}: ${levelText(trigger, to.level)} reached`;
  if (to.level < from.level)
    return t`${name}: ${levelText(trigger, from.level)} left, now ${triggerStateText(trigger, to)}`;
  if (from.condition === 'establishing' && to.condition === 'measured')
    return t`${name}: watched from here on`;
  if (to.condition === 'measured') return t`${name}: measured again, ${triggerStateText(trigger, to)}`;
  return t`${name}: ${triggerStateText(trigger, to)}`;
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
  const own = evaluationText(trigger, newest);
  return beyond > 0
    ? t`${of} (${own}, beyond ${levelSize(trigger, levels[beyond - 1]!.at)} but not confirmed)`
    : t`${of} (${own})`;
}
