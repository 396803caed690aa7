import {
  dayMs,
  type ArrivalRecord,
  type DutyRecord,
  type Evidence,
  type HealthRecord,
  type OutageRecord,
  type StationHealth,
  type SupplyRecord,
  type SuspicionRecord,
  type TimeFaultRecord,
} from '@stillmark/records';
import { msg, plural, t, translated } from '@stillmark/words';
import {
  count,
  formatNumber,
  formatPercent,
  formatSize,
  formatWithUncertainty,
  list,
  paragraph,
} from './numbers.ts';
import type { ZoneClock } from './times.ts';

/** `13 h`, `5.2 days`: a length of time as it is told, with no more digits than are of use. */
export function roughSpan(ms: number): string {
  if (ms >= 2 * dayMs) return t`${formatNumber(ms / dayMs, ms >= 10 * dayMs ? 0 : 1)} days`;
  if (ms >= 3_600_000) return `${formatNumber(ms / 3_600_000, 0)}\u202fh`;
  return `${formatNumber(ms / 60_000, 0)}\u202fmin`;
}

/** What the page of data health answers first. */
export function healthSentences(health: HealthRecord, asOfMs: number, clock: ZoneClock): string[] {
  return [
    arrivalSentence(health.stations, asOfMs),
    outagesSentence(health, asOfMs, clock),
    attentionSentence(health),
  ].filter((sentence) => sentence !== '');
}

/** Positions older than two spacings are behind; those of a station that sends nothing for a day are missing. */
function arrivalSentence(stations: readonly StationHealth[], asOfMs: number): string {
  const behind = (limit: number, { streams }: StationHealth): boolean =>
    streams.length > 0 &&
    streams.every(({ newest, behindMs }) => asOfMs - Date.parse(newest) > limit && behindMs > 0);
  const expected = stations.filter(({ streams }) => streams.length > 0);
  if (expected.length === 0) return t`No station has sent a position yet.`;
  const missing = expected.filter((s) => behind(dayMs, s));
  const n = formatNumber(expected.length, 0);
  if (missing.length === 0)
    return plural(
      expected.length,
      msg`${n} station has sent positions, and none has been silent for more than a day.`,
      msg`${n} stations have sent positions, and none has been silent for more than a day.`,
    );
  const names = missing.map(
    ({ station, streams }) => t`${station} has sent nothing for ${roughSpan(least(streams))}`,
  );
  const all = plural(
    expected.length,
    msg`${n} station has sent positions.`,
    msg`${n} stations have sent positions.`,
  );
  return `${all} ${list(names)}.`;
}

const least = (streams: readonly ArrivalRecord[]): number =>
  Math.min(...streams.map(({ behindMs }) => behindMs));

function outagesSentence({ outages, stations }: HealthRecord, asOfMs: number, clock: ZoneClock): string {
  const shares = stations.flatMap(({ streams }) => streams.map(({ completeness }) => completeness));
  if (shares.length === 0) return '';
  const mean = shares.reduce((s, v) => s + v, 0) / shares.length;
  const recent = outages.filter(({ to }) => to === undefined || Date.parse(to) > asOfMs - 30 * dayMs);
  const open = recent.filter(({ to }) => to === undefined);
  const share = formatPercent(mean, 1);
  const n = formatNumber(recent.length, 0);
  const [only] = open;
  if (recent.length === 0)
    return t`In the last 30 days ${share} of the positions expected came, with no outage.`;
  if (only === undefined)
    return plural(
      recent.length,
      msg`In the last 30 days ${share} of the positions expected came, with ${n} outage, all over.`,
      msg`In the last 30 days ${share} of the positions expected came, with ${n} outages, all over.`,
    );
  if (open.length > 1)
    return open.length === recent.length
      ? plural(
          open.length,
          msg`In the last 30 days ${share} of the positions expected came, with ${n} outage that lasts.`,
          msg`In the last 30 days ${share} of the positions expected came, with ${n} outages that last.`,
        )
      : plural(
          open.length,
          msg`In the last 30 days ${share} of the positions expected came, with ${count(recent.length, 'outage')}, of which ${open.length} lasts.`,
          msg`In the last 30 days ${share} of the positions expected came, with ${count(recent.length, 'outage')}, of which ${open.length} last.`,
        );
  const [cause, since] = [causeText(only.cause), clock.date(Date.parse(only.from))];
  return recent.length > 1
    ? plural(
        recent.length,
        msg`In the last 30 days ${share} of the positions expected came, with ${n} outage, of which one lasts (${cause}, since ${since}).`,
        msg`In the last 30 days ${share} of the positions expected came, with ${n} outages, of which one lasts (${cause}, since ${since}).`,
      )
    : t`In the last 30 days ${share} of the positions expected came, with ${n} outage that lasts (${cause}, since ${since}).`;
}

const lasting = (outages: number): string =>
  plural(outages, msg`${outages} outage that lasts`, msg`${outages} outages that last`);

function attentionSentence({ suspicions, duties, supplies, timeFaults, outages }: HealthRecord): string {
  const overdue = duties.filter(({ state }) => state === 'overdue').length;
  const reached = supplies.filter((s) => s.reached ?? s.passed).length;
  const open = outages.filter(({ to }) => to === undefined).length;
  const parts = [
    ...(open > 0 ? [lasting(open)] : []),
    ...(timeFaults.length > 0 ? [count(timeFaults.length, 'mistake of time', 'mistakes of time')] : []),
    ...(suspicions.length > 0 ? [count(suspicions.length, 'suspicion')] : []),
    ...(overdue > 0 ? [count(overdue, 'duty overdue', 'duties overdue')] : []),
    ...(reached > 0 ? [count(reached, 'supply running out or out', 'supplies running out or out')] : []),
  ];
  return parts.length === 0 ? t`Nothing asks for attention.` : t`To be looked at: ${list(parts)}.`;
}

/** What an outage hangs on. */
export function causeText({ kind, name }: OutageRecord['cause']): string {
  switch (kind) {
    case 'everything':
      return t`everything: processing, its host or the way to it`;
    case 'shared':
      return name;
    case 'base':
      return t`base ${name}, and all that is told from it`;
    case 'stream':
      return t`the processing of stream ${name}`;
    case 'station':
      return t`${name} alone`;
    case 'vector':
      return t`the vector of ${name}`;
  }
}

/** How long an outage lasted, or lasts. */
export function outageLength({ from, to }: OutageRecord, asOfMs: number): string {
  const length = roughSpan((to === undefined ? asOfMs : Date.parse(to)) - Date.parse(from));
  return to === undefined ? t`${length}, still` : length;
}

const suspicionNames: Readonly<Record<SuspicionRecord['kind'], string>> = translated({
  obscured: 'its antenna may be covered (snow, ice, leaves)',
  signal: 'its signals have become weak (cable, connector, interference, something over it)',
  multipath: 'something may reflect near its antenna that did not before (a machine, a scaffold, a tree)',
  power: 'its power may fail',
});

/** What is suspected, since when, and what speaks for it. */
export function suspicionSentence({ kind, of, since, evidence }: SuspicionRecord, clock: ZoneClock): string {
  return t`${of}: ${suspicionNames[kind]}, since ${clock.date(Date.parse(since))}: ${list(evidence.map((e) => evidenceText(e, clock)))}.`;
}

function evidenceText(evidence: Evidence, clock: ZoneClock): string {
  switch (evidence.kind) {
    case 'strength':
      return t`signals are ${formatNumber(evidence.drop_dB, 1)}\u202fdB weaker than in the weeks before`;
    case 'freezing':
      return t`${evidence.sensor} went down to ${formatNumber(evidence.least, 1)}\u202f${evidence.unit}`;
    case 'up':
      return evidence.off_mm < 0
        ? t`it seems ${formatSize(-evidence.off_mm)} lower since, where means scatter by less than ${formatSize(evidence.limit_mm)}`
        : t`it seems ${formatSize(evidence.off_mm)} higher since, where means scatter by less than ${formatSize(evidence.limit_mm)}`;
    case 'together':
      return t`so it is with ${list(evidence.stations)}`;
    case 'multipath':
      return t`multipath of ${evidence.signal} was ${formatNumber(evidence.before_m, 2)} and is ${formatNumber(evidence.now_m, 2)}\u202fm`;
    case 'satellites':
      return t`it tracks ${formatNumber(evidence.now, 1)} satellites at a time where it tracked ${formatNumber(evidence.before, 1)}`;
    case 'supply':
      return evidence.reached === undefined
        ? t`${evidence.sensor} is at its limit`
        : t`${evidence.sensor} may reach its limit on ${clock.date(Date.parse(evidence.reached))}`;
    case 'nights':
      return nightsText(evidence);
  }
}

function nightsText({ outages, from, to }: Extract<Evidence, { readonly kind: 'nights' }>): string {
  const n = formatNumber(outages, 0);
  return from === to
    ? plural(
        outages,
        msg`${n} outage in two weeks began about ${from} UTC`,
        msg`${n} outages in two weeks began about ${from} UTC`,
      )
    : plural(
        outages,
        msg`${n} outage in two weeks began between ${from} and ${to} UTC`,
        msg`${n} outages in two weeks began between ${from} and ${to} UTC`,
      );
}

/** A mistake of time by its name, and what would mend it. */
export function timeFaultSentence(
  { kind, stream, stations, from, to, epochs, offsetSeconds }: TimeFaultRecord,
  clock: ZoneClock,
): string {
  const [ids, n] = [list(stations), formatNumber(epochs, 0)];
  const [first, last] = [clock.date(Date.parse(from)), clock.date(Date.parse(to))];
  if (kind === 'weeks')
    return paragraph([
      plural(
        epochs,
        msg`${ids} in ${stream}: ${n} epoch of ${first} to ${last} would be of this project 1024 weeks later: the count of GPS weeks began anew in what wrote them.`,
        msg`${ids} in ${stream}: ${n} epochs of ${first} to ${last} would be of this project 1024 weeks later: the count of GPS weeks began anew in what wrote them.`,
      ),
      t`The files with the right dates, delivered again, and these taken out of the store, would mend it.`,
    ]);
  const seconds = Math.abs(offsetSeconds);
  const scales =
    seconds === 18
      ? t`GPS time and UTC`
      : seconds === 14
        ? t`GPS time and BeiDou time`
        : t`BeiDou time and UTC`;
  return paragraph([
    offsetSeconds > 0
      ? plural(
          epochs,
          msg`${ids} in ${stream}: ${n} epoch from ${first} to ${last} stands ${seconds}\u202fs after where the others stand in the minute: ${scales} differ by so much.`,
          msg`${ids} in ${stream}: ${n} epochs from ${first} to ${last} stand ${seconds}\u202fs after where the others stand in the minute: ${scales} differ by so much.`,
        )
      : plural(
          epochs,
          msg`${ids} in ${stream}: ${n} epoch from ${first} to ${last} stands ${seconds}\u202fs before where the others stand in the minute: ${scales} differ by so much.`,
          msg`${ids} in ${stream}: ${n} epochs from ${first} to ${last} stand ${seconds}\u202fs before where the others stand in the minute: ${scales} differ by so much.`,
        ),
    t`The time scale in which files are written may have changed.`,
  ]);
}

/** How much there is, where it goes, and when the limit is reached. */
export function supplySentence(supply: SupplyRecord, clock: ZoneClock): string {
  const { of, kind, unit, newest, limit, plan, perDay, perDayPlusMinus, reached } = supply;
  if (!newest) return unreadSentences[kind](of);
  const amount = (value: number): string => `${formatNumber(value, digitsOf(limit))}\u202f${unit}`;
  const date = (text: string): string => clock.date(Date.parse(text));
  if (plan) {
    if (plan.used === undefined || plan.expected === undefined)
      return t`${of}: there is no reading since the plan began anew on ${date(plan.from)}.`;
    const [used, since, anew] = [amount(plan.used), date(plan.from), date(plan.to)];
    if (supply.passed)
      return t`${of}: ${used} of ${amount(limit)} are used since ${since}: the plan is used up, and begins anew on ${anew}.`;
    return reached
      ? t`${of}: ${used} of ${amount(limit)} are used since ${since}; at the rate of the last week the plan is used up on ${date(reached.by ?? reached.earliest)}, before it begins anew on ${anew}.`
      : t`${of}: ${used} of ${amount(limit)} are used since ${since}; at the rate of the last week ${amount(plan.expected)} will be when the plan begins anew on ${anew}.`;
  }
  const stands = supply.passed
    ? t`${of}: ${supplyNames[kind]} ${amount(newest.value)}, not to fall below ${amount(limit)}: it has fallen below.`
    : t`${of}: ${supplyNames[kind]} ${amount(newest.value)}, not to fall below ${amount(limit)}.`;
  const trend =
    perDay === undefined || perDayPlusMinus === undefined
      ? undefined
      : t`The least value of a day changes by ${formatWithUncertainty(perDay, perDayPlusMinus, unit)} a day.`;
  if (supply.passed) return paragraph([stands, trend]);
  if (!reached) {
    // A fall that may be chance says nothing of a day, and nothing against one either.
    const falls = perDay !== undefined && perDay < 0 && perDay + (perDayPlusMinus ?? 0) >= 0;
    const end = falls ? t`Whether it falls is not sure.` : t`The limit is not reached within a year.`;
    return paragraph([stands, trend, trend && end]);
  }
  return paragraph([
    stands,
    trend,
    reached.by === undefined
      ? t`It gets there on ${date(reached.earliest)} at the earliest.`
      : t`It gets there about ${date(reached.by)}, at the earliest on ${date(reached.earliest)}.`,
  ]);
}

const supplyNames: Readonly<Record<SupplyRecord['kind'], string>> = translated({
  battery: 'battery',
  data: 'data plan',
  storage: 'free storage',
});

const unreadSentences: Readonly<Record<SupplyRecord['kind'], (of: string) => string>> = {
  battery: (of) => t`${of}: there is no reading of its battery.`,
  data: (of) => t`${of}: there is no reading of its data plan.`,
  storage: (of) => t`${of}: there is no reading of its free storage.`,
};

/** Digits with which a quantity is told whose limit is this. */
function digitsOf(limit: number): number {
  return limit >= 100 ? 0 : limit >= 20 ? 1 : 2;
}

const dutyStates: Readonly<Record<DutyRecord['state'], string>> = translated({
  done: 'done',
  ahead: 'ahead',
  soon: 'soon',
  overdue: 'overdue',
});

/** State of a duty, with how far it is ahead or overdue. */
export function dutyState({ state, due }: DutyRecord, asOfMs: number): string {
  if (due === undefined) return dutyStates.done;
  const days = Math.round((Date.parse(`${due}T00:00:00Z`) - Math.floor(asOfMs / dayMs) * dayMs) / dayMs);
  if (state === 'overdue') return t`overdue by ${count(-days, 'day')}`;
  return days === 0 ? t`due today` : t`in ${count(days, 'day')}`;
}

/** Smaller changes than this part of a figure are not told beside it. */
const told = 0.05;

/** `1.9 (before 2.4)`: a figure of the present beside that of before, where they differ by more than a twentieth. */
export function beside(
  now: number | undefined,
  before: number | undefined,
  text: (v: number) => string,
): string {
  if (now === undefined) return '–';
  return before === undefined || Math.abs(now - before) <= told * Math.abs(before)
    ? text(now)
    : t`${text(now)} (before ${text(before)})`;
}
