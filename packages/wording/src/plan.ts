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
import { count, formatNumber, formatPercent, formatShort, formatSize, list } from './numbers.ts';
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
  const why =
    late === undefined
      ? ''
      : t` What comes last is ${late}, on ${date(ready)}, after the installation was to begin.`;
  const end = t`installation and a reference period of ${count(referenceDays, 'day')}`;
  return roomDays >= 0
    ? t`The first displacement is wanted for ${date(wanted)}, ${count(roomDays, 'day')} after ${end} end at the earliest (${date(earliest)}).${why}`
    : t`The start cannot be met: the first displacement is wanted for ${date(wanted)}, ${count(-roomDays, 'day')} before ${end} can end (${date(earliest)}).${why}`;
}

/** Whether figures will be good enough, from noise that is expected. */
export function figuresSentence(
  { figures, noiseSource }: PlanRecord,
  { requirement }: ProjectRecord,
): string | undefined {
  const [first] = figures;
  if (!first) return undefined;
  const last = figures.at(-1)!;
  const horizontal = figures.every((f) => f.horizontalDetectable_mm <= requirement.horizontal_mm);
  const up = figures.every((f) => f.upDetectable_mm <= requirement.up_mm);
  const meets = (met: boolean): string => (met ? t`small enough` : t`larger than is asked`);
  const range = (a: number, b: number): string =>
    t`${formatSize(a)} after ${first.afterDays} days and ${formatSize(b)} after ${last.afterDays}`;
  return t`From the noise that is expected (${noiseSource ?? t`no source`}) the smallest movement that will be found is horizontally ${meets(horizontal)} (${range(first.horizontalDetectable_mm, last.horizontalDetectable_mm)}; asked are ${formatSize(requirement.horizontal_mm)}), up or down ${meets(up)} (${range(first.upDetectable_mm, last.upDetectable_mm)}; asked are ${formatSize(requirement.up_mm)}).`;
}

/** Whether receivers are specified as much better than asked as is wanted; undefined where none has a specification. */
export function specificationSentence({ specification }: PlanRecord): string | undefined {
  if (!specification) return undefined;
  const { asked, askedFrom, wantedMargin, stations } = specification;
  const worst = stations.reduce((a, b) => (b.margin < a.margin ? b : a));
  // What is exactly as good as wanted is enough, whatever the last bit of a quotient says.
  const enough = worst.margin >= wantedMargin * (1 - 1e-9);
  const from =
    askedFrom === 'accuracy'
      ? ''
      : t`, a third of the smallest movement that must be found, since the project file asks for no accuracy`;
  return t`Asked of a position are ± ${formatSize(asked.horizontal_mm)} horizontally and ± ${formatSize(asked.up_mm)} in height${from}, and intervals are those of the site's confidence. By the specification of its receiver a single solution of ${worst.id} is good for ± ${formatSize(worst.horizontal_mm)} and ± ${formatSize(worst.up_mm)} over the ${formatNumber(worst.length_m, 0)}\u202fm from ${worst.base}${stations.length > 1 ? t`, the least of all stations` : ''}: ${formatNumber(worst.margin, 1)} times as good as asked where ${formatShort(wantedMargin)} times are wanted, ${enough ? t`enough` : t`not enough by single solutions; whether means over the window bring the rest, only positions can show`}.`;
}

/** How the bases stand around what is monitored, and to the zone of influence. */
export function placementSentences({ geometry, stations, clearance_m }: PlanRecord): string[] {
  const out: string[] = [];
  if (geometry) {
    const { bases, largestGapDeg, surrounded } = geometry;
    out.push(
      bases === 1
        ? t`One base: if it moves, that looks like a movement of everything, and nothing can tell.`
        : t`${count(bases, 'base')}, ${surrounded ? t`around what is monitored` : t`which do not surround what is monitored`} (the largest open angle is ${formatNumber(largestGapDeg, 0)}°).${bases === 2 ? t` Two disagree without saying which of them moves; three can.` : ''}`,
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
  const rule =
    kind === 'trough'
      ? t`beside its axis, by a trough of the form of a bell curve (Peck 1969)`
      : t`beyond its edge, by the angle of draw`;
  return t`${what}: the ground may move up to ${formatNumber(reach_m, 0)}\u202fm ${rule}.`;
}

/** What is lost where something fails. */
export function failureText({ streams, weakened, dark, basesLeft }: FailureRecord): string {
  const parts = [
    ...(streams.length > 0
      ? [t`lost: ${streams.length === 1 ? t`stream` : t`streams`} ${list(streams)}`]
      : []),
    ...(dark.length > 0 ? [t`dark: ${list(dark)}`] : []),
    ...(weakened.length > 0
      ? [
          t`told by fewer streams: ${weakened.length > 6 ? count(weakened.length, 'station') : list(weakened)}`,
        ]
      : []),
  ];
  const left = basesLeft === 0 ? t`no base is left` : t`${count(basesLeft, 'base')} left`;
  return [...(parts.length > 0 ? parts : [t`no station goes dark`]), left].join('; ');
}

const days = (n: number): string => (n === 1 ? t`1 day` : t`${formatShort(n)} days`);

/** What a load needs, and whether what is installed is enough. */
export function powerSentence(p: PowerRecord): string {
  const needs = t`${p.of}: ${formatShort(p.load_W)}\u202fW take ${formatNumber(p.energy_Wh, 0)}\u202fWh a day; with ${formatNumber(p.sunHours, 1)}\u202fh of full sun in the worst month and ${days(p.autonomyDays)} without any that is an array of ${formatNumber(Math.ceil(p.array_W - 1e-6), 0)}\u202fW and a battery of ${formatNumber(Math.ceil(p.battery_Ah - 1e-6), 0)}\u202fAh at ${formatShort(p.voltage)}\u202fV.`;
  if (!p.installed) return needs;
  const { array_W, battery_Ah, arrayMargin, autonomyDays } = p.installed;
  // What is installed exactly is enough, whatever the last bit of a product says.
  const enough = arrayMargin >= 1 - 1e-9 && autonomyDays >= p.autonomyDays * (1 - 1e-9);
  return t`${needs} Installed are ${formatShort(array_W)}\u202fW and ${formatShort(battery_Ah)}\u202fAh: ${formatPercent(arrayMargin, 0)} of the array and ${formatNumber(autonomyDays, 1)} days, ${enough ? t`enough` : t`not enough`}.`;
}

export function communicationSentence({ of, stations, needed_MB, plan_MB }: CommunicationRecord): string {
  const enough = needed_MB <= plan_MB;
  return t`${of}: ${count(stations, 'station')} ${stations === 1 ? t`sends` : t`send`} ${formatNumber(needed_MB, 0)}\u202fMB in 30 days; the plan allows ${formatNumber(plan_MB, 0)}\u202fMB, ${enough ? t`${formatPercent(1 - needed_MB / plan_MB, 0)} to spare` : t`not enough`}.`;
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
  return t`${of}: ${count(stations, 'station')} ${stations === 1 ? t`writes` : t`write`} ${formatShort(daily_MB)}\u202fMB a day; ${formatNumber(free_MB, 0)}\u202fMB last ${days(Math.floor(last))}, ${last >= keepDays ? t`enough for` : t`not enough for`} the ${days(keepDays)} until it is taken away.`;
}

/** Whether a processing run ends well before the next one begins. */
export function processingSentence({ intervalMs, runMs, stations, measuredWith }: ProcessingRecord): string {
  const share = runMs / intervalMs;
  const measured =
    measuredWith === undefined
      ? ''
      : t` (measured with ${measuredWith}, and taken to grow with their number)`;
  const verdict =
    share > 1
      ? t`it does not end before the next one begins`
      : share > mostOfInterval
        ? t`little is left to catch up after an outage`
        : t`enough is left to catch up after an outage`;
  return t`Processing: a run of ${count(stations, 'station')} takes ${formatSpan(Math.ceil(runMs / minuteMs) * minuteMs)} of the ${formatSpan(intervalMs)} between runs${measured}: ${verdict}.`;
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
  const moved = t`${station} was moved by ${vector(set)} on ${clock.date(Date.parse(at))}${by === undefined ? '' : t`, by ${by}`}`;
  if (!reported) return t`${moved}; nothing can be told of it: ${whyNothing[lacking ?? 'days']}.`;
  return t`${moved}; reported are ${vector(reported)} ± ${formatSize(reported.horizontalPlusMinus_mm)} horizontally and ${formatSize(reported.upPlusMinus_mm)} up: the chain ${reported.agrees ? t`shows it` : t`does not show it`}.`;
}

/** What antennas see: the share of the time within the limits, and where it is least. */
export function skySentence({ sky, stations }: PlanRecord, clock: ZoneClock): string | undefined {
  if (!sky) return undefined;
  const seen = stations.flatMap((s) => (s.sky ? [{ id: s.id, ...s.sky }] : []));
  if (seen.length === 0) return undefined;
  const worst = seen.reduce((a, b) => (b.within < a.within ? b : a));
  const { satellites, pdop } = sky.limits;
  const asked = t`at least ${satellites} satellites and a PDOP of at most ${pdop}`;
  const systems = list(sky.constellations.map(({ system, satellites: n }) => t`${n} of ${system}`));
  const known = t`Orbits are known of ${systems}${sky.knownShare < 1 ? t`, for ${formatPercent(sky.knownShare, 0)} of the span; the rest is not counted` : ''}.`;
  if (worst.within === 1)
    return t`At every time ${sky.knownShare < 1 ? t`of which orbits are known` : t`of the span`} all stations see ${asked}. ${known}`;
  return t`${worst.id} sees least: ${asked} during ${worst.within > 0.999 ? t`nearly all` : formatPercent(worst.within, 1)} of the time, worst from ${clock.dateTime(Date.parse(worst.worst.from))} for an hour. ${known}`;
}
