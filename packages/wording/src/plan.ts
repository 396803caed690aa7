import type {
  CommunicationRecord,
  DisplacementTestRecord,
  FailureRecord,
  PlanRecord,
  PowerRecord,
  ProcessingRecord,
  ProjectRecord,
  StorageRecord,
  ZoneRuleRecord,
} from '@stillmark/records';
import { msg, plural, t, translated } from '@stillmark/words';
import {
  count,
  formatNumber,
  formatPercent,
  formatShort,
  formatSize,
  list,
  paragraph,
  semicolons,
} from './numbers.ts';
import { formatSpan, ZoneClock } from './times.ts';

/** A day of the calendar, the same in every zone: `1 May 2027`. */
export function calendarDay(day: string): string {
  return new ZoneClock('UTC').date(Date.parse(`${day}T12:00:00Z`));
}

/** Whether the start date can be kept; undefined where none is planned. */
export function startSentence({ start }: PlanRecord): string | undefined {
  if (!start) return undefined;
  const date = calendarDay;
  const { wanted, earliest, roomDays, referenceDays, late, ready } = start;
  const period = count(referenceDays, 'day');
  return paragraph([
    roomDays >= 0
      ? t`The first displacement is wanted for ${date(wanted)}, ${count(roomDays, 'day')} after installation and a reference period of ${period} end at the earliest (${date(earliest)}).`
      : t`The start cannot be met: the first displacement is wanted for ${date(wanted)}, ${count(-roomDays, 'day')} before installation and a reference period of ${period} can end (${date(earliest)}).`,
    late === undefined
      ? undefined
      : t`What comes last is ${late}, on ${date(ready)}, after the installation was to begin.`,
  ]);
}

/** Whether figures will be good enough, from noise that is expected. */
export function figuresSentence(
  { figures, noiseSource }: PlanRecord,
  { requirement }: ProjectRecord,
): string | undefined {
  const [first] = figures;
  if (!first) return undefined;
  const last = figures.at(-1)!;
  const meets = figures.every((f) => f.horizontalDetectable_mm <= requirement.horizontal_mm);
  const meetsUp = figures.every((f) => f.upDetectable_mm <= requirement.up_mm);
  const range = (a: number, b: number): string =>
    plural(
      first.afterDays,
      msg`${formatSize(a)} after ${first.afterDays} day and ${formatSize(b)} after ${last.afterDays}`,
      msg`${formatSize(a)} after ${first.afterDays} days and ${formatSize(b)} after ${last.afterDays}`,
    );
  const source = noiseSource ?? t`no source`;
  const across = range(first.horizontalDetectable_mm, last.horizontalDetectable_mm);
  const vertical = range(first.upDetectable_mm, last.upDetectable_mm);
  const [asked, askedUp] = [formatSize(requirement.horizontal_mm), formatSize(requirement.up_mm)];
  if (meets)
    return meetsUp
      ? t`From the noise that is expected (${source}) the smallest movement that will be found is horizontally small enough (${across}; asked are ${asked}), up or down small enough (${vertical}; asked are ${askedUp}).`
      : t`From the noise that is expected (${source}) the smallest movement that will be found is horizontally small enough (${across}; asked are ${asked}), up or down larger than is asked (${vertical}; asked are ${askedUp}).`;
  return meetsUp
    ? t`From the noise that is expected (${source}) the smallest movement that will be found is horizontally larger than is asked (${across}; asked are ${asked}), up or down small enough (${vertical}; asked are ${askedUp}).`
    : t`From the noise that is expected (${source}) the smallest movement that will be found is horizontally larger than is asked (${across}; asked are ${asked}), up or down larger than is asked (${vertical}; asked are ${askedUp}).`;
}

/** Whether receivers are specified as much better than asked as is wanted; undefined where none has a specification. */
export function specificationSentence({ specification }: PlanRecord): string | undefined {
  if (!specification) return undefined;
  const { asked, askedFrom, wantedMargin, stations } = specification;
  const worst = stations.reduce((a, b) => (b.margin < a.margin ? b : a));
  // What is exactly as good as wanted is enough, whatever the last bit of a quotient says.
  const enough = worst.margin >= wantedMargin * (1 - 1e-9);
  const [across, up] = [formatSize(asked.horizontal_mm), formatSize(asked.up_mm)];
  return paragraph([
    askedFrom === 'accuracy'
      ? t`Asked of a position are ± ${across} horizontally and ± ${up} in height, and intervals are those of the site's confidence.`
      : t`Asked of a position are ± ${across} horizontally and ± ${up} in height, a third of the smallest movement that must be found, since the project file asks for no accuracy, and intervals are those of the site's confidence.`,
    receiverSentence(worst, stations.length > 1, enough, wantedMargin),
  ]);
}

/** What the receiver is specified for whose margin is the least. */
function receiverSentence(
  worst: NonNullable<PlanRecord['specification']>['stations'][number],
  several: boolean,
  enough: boolean,
  wantedMargin: number,
): string {
  const { id, base } = worst;
  const [across, up] = [formatSize(worst.horizontal_mm), formatSize(worst.up_mm)];
  const [length, margin] = [formatNumber(worst.length_m, 0), formatNumber(worst.margin, 1)];
  const wanted = formatShort(wantedMargin);
  if (several)
    return enough
      ? t`By the specification of its receiver a single solution of ${id} is good for ± ${across} and ± ${up} over the ${length}\u202fm from ${base}, the least of all stations: ${margin} times as good as asked where ${wanted} times are wanted, enough.`
      : t`By the specification of its receiver a single solution of ${id} is good for ± ${across} and ± ${up} over the ${length}\u202fm from ${base}, the least of all stations: ${margin} times as good as asked where ${wanted} times are wanted, not enough by single solutions; whether means over the window bring the rest, only positions can show.`;
  return enough
    ? t`By the specification of its receiver a single solution of ${id} is good for ± ${across} and ± ${up} over the ${length}\u202fm from ${base}: ${margin} times as good as asked where ${wanted} times are wanted, enough.`
    : t`By the specification of its receiver a single solution of ${id} is good for ± ${across} and ± ${up} over the ${length}\u202fm from ${base}: ${margin} times as good as asked where ${wanted} times are wanted, not enough by single solutions; whether means over the window bring the rest, only positions can show.`;
}

/** How the bases stand around what is monitored, and to the zone of influence. */
export function placementSentences({ geometry, stations, clearance_m }: PlanRecord): string[] {
  const out: string[] = [];
  if (geometry) {
    const { bases, largestGapDeg, surrounded } = geometry;
    const [n, gap] = [formatNumber(bases, 0), formatNumber(largestGapDeg, 0)];
    out.push(
      bases === 1
        ? t`One base: if it moves, that looks like a movement of everything, and nothing can tell.`
        : paragraph([
            surrounded
              ? plural(
                  bases,
                  msg`${n} base, around what is monitored (the largest open angle is ${gap}°).`,
                  msg`${n} bases, around what is monitored (the largest open angle is ${gap}°).`,
                )
              : plural(
                  bases,
                  msg`${n} base, which does not surround what is monitored (the largest open angle is ${gap}°).`,
                  msg`${n} bases, which do not surround what is monitored (the largest open angle is ${gap}°).`,
                ),
            bases === 2 ? t`Two disagree without saying which of them moves; three can.` : undefined,
          ]),
    );
  }
  const inside = stations.filter(
    (s) => s.clearance_m !== undefined && s.role === 'base' && s.clearance_m < 0,
  );
  const near = stations.filter(
    (s) =>
      s.clearance_m !== undefined &&
      s.role === 'base' &&
      s.clearance_m >= 0 &&
      s.clearance_m < (clearance_m ?? 0),
  );
  const outside = stations.filter((s) => s.role === 'monitoring' && (s.clearance_m ?? -1) > 0);
  const ids = (all: readonly { readonly id: string }[]): string => list(all.map(({ id }) => id));
  if (inside.length > 0)
    out.push(
      plural(
        inside.length,
        msg`${ids(inside)} is a base inside the zone of influence: what moves the zone moves it.`,
        msg`${ids(inside)} are bases inside the zone of influence: what moves the zone moves them.`,
      ),
    );
  if (near.length > 0)
    out.push(
      plural(
        near.length,
        msg`${ids(near)} stands nearer to the zone than the ${formatNumber(clearance_m!, 0)}\u202fm that are asked.`,
        msg`${ids(near)} stand nearer to the zone than the ${formatNumber(clearance_m!, 0)}\u202fm that are asked.`,
      ),
    );
  if (outside.length > 0)
    out.push(
      plural(
        outside.length,
        msg`${ids(outside)} is to be monitored and stands outside of the zone.`,
        msg`${ids(outside)} are to be monitored and stand outside of the zone.`,
      ),
    );
  const cleared = (role: 'base' | 'monitoring'): boolean =>
    stations.some((s) => s.role === role && s.clearance_m !== undefined);
  if (cleared('base') && inside.length + near.length === 0)
    out.push(t`All bases stand clear of the zone of influence.`);
  if (cleared('monitoring') && outside.length === 0)
    out.push(t`All monitoring stations stand in the zone of influence.`);
  if (stations.length > 0 && !stations.some(({ role }) => role === 'base'))
    out.push(t`There is no base: nothing of the network itself says whether all of it moves.`);
  return out;
}

/** Reach of what settles the ground, with the rule. */
export function zoneRuleSentence({ what, kind, reach_m }: ZoneRuleRecord): string {
  const reach = formatNumber(reach_m, 0);
  return kind === 'trough'
    ? t`${what}: the ground may move up to ${reach}\u202fm beside its axis, by a trough of the form of a bell curve (Peck 1969).`
    : t`${what}: the ground may move up to ${reach}\u202fm beyond its edge, by the angle of draw.`;
}

/** What is lost where something fails. */
export function failureText({ streams, weakened, dark, basesLeft }: FailureRecord): string {
  const parts = [
    ...(streams.length > 0
      ? [plural(streams.length, msg`lost: stream ${list(streams)}`, msg`lost: streams ${list(streams)}`)]
      : []),
    ...(dark.length > 0 ? [t`dark: ${list(dark)}`] : []),
    ...(weakened.length > 0
      ? [
          t`told by fewer streams: ${weakened.length > 6 ? count(weakened.length, 'station') : list(weakened)}`,
        ]
      : []),
  ];
  const left = basesLeft === 0 ? t`no base is left` : t`${count(basesLeft, 'base')} left`;
  return semicolons([...(parts.length > 0 ? parts : [t`no station goes dark`]), left]);
}

const days = (n: number): string => plural(n, msg`${formatShort(n)} day`, msg`${formatShort(n)} days`);

/** What a load needs, and whether what is installed is enough. */
export function powerSentence(p: PowerRecord): string {
  const needs = t`${p.of}: ${formatShort(p.load_W)}\u202fW take ${formatNumber(p.energy_Wh, 0)}\u202fWh a day; with ${formatNumber(p.sunHours, 1)}\u202fh of full sun in the worst month and ${days(p.autonomyDays)} without any that is an array of ${formatNumber(Math.ceil(p.array_W - 1e-6), 0)}\u202fW and a battery of ${formatNumber(Math.ceil(p.battery_Ah - 1e-6), 0)}\u202fAh at ${formatShort(p.voltage)}\u202fV.`;
  if (!p.installed) return needs;
  const { array_W, battery_Ah, arrayMargin, autonomyDays } = p.installed;
  // What is installed exactly is enough, whatever the last bit of a product says.
  const enough = arrayMargin >= 1 - 1e-9 && autonomyDays >= p.autonomyDays * (1 - 1e-9);
  const [array, battery] = [formatShort(array_W), formatShort(battery_Ah)];
  const [share, lasts] = [formatPercent(arrayMargin, 0), formatNumber(autonomyDays, 1)];
  return paragraph([
    needs,
    enough
      ? t`Installed are ${array}\u202fW and ${battery}\u202fAh: ${share} of the array and ${lasts} days, enough.`
      : t`Installed are ${array}\u202fW and ${battery}\u202fAh: ${share} of the array and ${lasts} days, not enough.`,
  ]);
}

export function communicationSentence({ of, stations, needed_MB, plan_MB }: CommunicationRecord): string {
  const n = formatNumber(stations, 0);
  const [needed, allowed] = [formatNumber(needed_MB, 0), formatNumber(plan_MB, 0)];
  if (needed_MB > plan_MB)
    return plural(
      stations,
      msg`${of}: ${n} station sends ${needed}\u202fMB in 30 days; the plan allows ${allowed}\u202fMB, not enough.`,
      msg`${of}: ${n} stations send ${needed}\u202fMB in 30 days; the plan allows ${allowed}\u202fMB, not enough.`,
    );
  const spare = formatPercent(1 - needed_MB / plan_MB, 0);
  return plural(
    stations,
    msg`${of}: ${n} station sends ${needed}\u202fMB in 30 days; the plan allows ${allowed}\u202fMB, ${spare} to spare.`,
    msg`${of}: ${n} stations send ${needed}\u202fMB in 30 days; the plan allows ${allowed}\u202fMB, ${spare} to spare.`,
  );
}

/** How long the room for what is written lasts. */
export function storageSentence({
  of,
  stations,
  daily_MB,
  free_MB,
  days: last,
  keepDays,
}: StorageRecord): string {
  const [n, daily, free] = [formatNumber(stations, 0), formatShort(daily_MB), formatNumber(free_MB, 0)];
  const [lasts, kept] = [days(Math.floor(last)), days(keepDays)];
  return last >= keepDays
    ? plural(
        stations,
        msg`${of}: ${n} station writes ${daily}\u202fMB a day; ${free}\u202fMB last ${lasts}, enough for the ${kept} until it is taken away.`,
        msg`${of}: ${n} stations write ${daily}\u202fMB a day; ${free}\u202fMB last ${lasts}, enough for the ${kept} until it is taken away.`,
      )
    : plural(
        stations,
        msg`${of}: ${n} station writes ${daily}\u202fMB a day; ${free}\u202fMB last ${lasts}, not enough for the ${kept} until it is taken away.`,
        msg`${of}: ${n} stations write ${daily}\u202fMB a day; ${free}\u202fMB last ${lasts}, not enough for the ${kept} until it is taken away.`,
      );
}

/** Whether a processing run ends well before the next one begins. */
export function processingSentence({ intervalMs, runMs, stations, measuredWith }: ProcessingRecord): string {
  const share = runMs / intervalMs;
  const run = count(stations, 'station');
  const [length, interval] = [formatSpan(Math.ceil(runMs / minuteMs) * minuteMs), formatSpan(intervalMs)];
  const takes =
    measuredWith === undefined
      ? t`Processing: a run of ${run} takes ${length} of the ${interval} between runs`
      : t`Processing: a run of ${run} takes ${length} of the ${interval} between runs (measured with ${measuredWith}, and taken to grow with their number)`;
  const verdict =
    share > 1
      ? t`it does not end before the next one begins`
      : share > mostOfInterval
        ? t`little is left to catch up after an outage`
        : t`enough is left to catch up after an outage`;
  return t`${takes}: ${verdict}.`;
}

const minuteMs = 60_000;

/** A run that takes more than half of its interval needs as long as an outage to catch up with it (arithmetic). */
const mostOfInterval = 0.5;

const whyNothing: Readonly<Record<NonNullable<DisplacementTestRecord['lacking']>, string>> = translated({
  positions: 'the stream that is stated first has no positions of it',
  event: 'no event of kind instrument stands at that time among its steps',
  days: 'that takes four days of positions on each side, without another step among them',
});

/** A known movement of an antenna, and what was reported of it. */
export function displacementTestSentence(
  { station, at, set, reported, lacking, by }: DisplacementTestRecord,
  clock: ZoneClock,
): string {
  const vector = (v: {
    readonly east_mm: number;
    readonly north_mm: number;
    readonly up_mm: number;
  }): string =>
    t`${formatNumber(v.east_mm, 1)}, ${formatNumber(v.north_mm, 1)}, ${formatNumber(v.up_mm, 1)}\u202fmm (east, north, up)`;
  const day = clock.date(Date.parse(at));
  const moved =
    by === undefined
      ? t`${station} was moved by ${vector(set)} on ${day}`
      : t`${station} was moved by ${vector(set)} on ${day}, by ${by}`;
  if (!reported) return t`${moved}; nothing can be told of it: ${whyNothing[lacking ?? 'days']}.`;
  const found = vector(reported);
  const [across, up] = [formatSize(reported.horizontalPlusMinus_mm), formatSize(reported.upPlusMinus_mm)];
  return reported.agrees
    ? t`${moved}; reported are ${found} ± ${across} horizontally and ${up} up: the chain shows it.`
    : t`${moved}; reported are ${found} ± ${across} horizontally and ${up} up: the chain does not show it.`;
}

/** What antennas see: the share of the time within the limits, and where it is least. */
export function skySentence({ sky, stations }: PlanRecord, clock: ZoneClock): string | undefined {
  if (!sky) return undefined;
  const seen = stations.flatMap((s) => (s.sky ? [{ id: s.id, ...s.sky }] : []));
  if (seen.length === 0) return undefined;
  const worst = seen.reduce((a, b) => (b.within < a.within ? b : a));
  const { satellites, pdop } = sky.limits;
  const asked = plural(
    satellites,
    msg`at least ${satellites} satellite and a PDOP of at most ${pdop}`,
    msg`at least ${satellites} satellites and a PDOP of at most ${pdop}`,
  );
  const systems = list(sky.constellations.map(({ system, satellites: n }) => t`${n} of ${system}`));
  const inPart = sky.knownShare < 1;
  const known = inPart
    ? t`Orbits are known of ${systems}, for ${formatPercent(sky.knownShare, 0)} of the span; the rest is not counted.`
    : t`Orbits are known of ${systems}.`;
  const from = clock.dateTime(Date.parse(worst.worst.from));
  const everywhere = inPart
    ? t`At every time of which orbits are known all stations see ${asked}.`
    : t`At every time of the span all stations see ${asked}.`;
  const least =
    worst.within > 0.999
      ? t`${worst.id} sees least: ${asked} during nearly all of the time, worst from ${from} for an hour.`
      : t`${worst.id} sees least: ${asked} during ${formatPercent(worst.within, 1)} of the time, worst from ${from} for an hour.`;
  return paragraph([worst.within === 1 ? everywhere : least, known]);
}
