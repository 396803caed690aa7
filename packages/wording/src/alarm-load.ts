import type { AlarmLoadRecord, CandidateRecord, DelayRecord, Snapshot } from '@stillmark/records';
import { axisNames, msg, plural, t } from '@stillmark/words';
import {
  commas,
  count,
  formatNumber,
  formatPercent,
  formatShort,
  formatSize,
  list,
  paragraph,
} from './numbers.ts';
import { formatSpan } from './times.ts';

/** `means of 24 h, 6 mm, 2 of 3, estimate`. */
export function settingText({ windowMs, level_mm, persistence, basis }: CandidateRecord): string {
  return commas([
    t`means of ${formatSpan(windowMs)}`,
    t`level ${formatShort(level_mm)}\u202fmm`,
    plural(persistence.of, msg`a single one`, msg`${persistence.needed} of ${persistence.of}`),
    basis === 'estimate' ? t`by the figure itself` : t`by the nearer end of its interval`,
  ]);
}

/** False alarms of the network in 30 days: `0.08`, or `none in 768 months`. */
export function falseAlarmText({ network }: CandidateRecord, { months }: AlarmLoadRecord): string {
  if (network === 0) return t`none in ${count(months, 'month')}`;
  return formatNumber(network, network < 0.1 ? 3 : network < 10 ? 2 : 0);
}

/** Share of months in which no level was reached. */
export function quietText({ quiet }: CandidateRecord): string {
  return quiet < 1 && quiet > 0.99 ? t`over ${formatPercent(0.99)}` : formatPercent(quiet);
}

/** `1.5 d`; `not in time` where it was not found in the time that was simulated. */
export function delayText(delay: DelayRecord | undefined, which: 'halfMs' | 'nineMs'): string {
  const ms = delay?.[which];
  if (ms === undefined) return t`not in time`;
  const days = ms / 86_400_000;
  return `${formatNumber(days, days < 10 ? 2 : 1)}\u202fd`;
}

/** `transverse (downstream)`. */
export function loadQuantity(
  { quantity, side }: AlarmLoadRecord,
  { axes }: Pick<Snapshot['project'], 'axes'>,
): string {
  const own =
    quantity === 'transverse' && axes?.transverse !== undefined
      ? t`transverse (${axes.transverse})`
      : axisNames[quantity];
  if (side === 'either') return own;
  return side === 'positive' ? t`${own}, positive only` : t`${own}, negative only`;
}

/** What is asked of alarms. */
export function requirementSentence({ requirement }: AlarmLoadRecord): string {
  const { falseAlarms, step, ramp } = requirement;
  const found = [
    step
      ? t`a sudden movement of ${formatSize(step.size_mm)} within ${formatSpan(step.withinMs)} of its begin`
      : '',
    ramp
      ? t`a steady one of ${formatShort(ramp.mm_day)}\u202fmm a day within ${formatSpan(ramp.withinMs)} of its begin`
      : '',
  ].filter(Boolean);
  return plural(
    falseAlarms,
    msg`Asked: at most ${formatShort(falseAlarms)} false alarm in 30 days from all stations together, and ${list(found)} found in nine of ten cases.`,
    msg`Asked: at most ${formatShort(falseAlarms)} false alarms in 30 days from all stations together, and ${list(found)} found in nine of ten cases.`,
  );
}

/** What is recommended and why, or what misses least. */
export function loadSentences(load: AlarmLoadRecord): string[] {
  const { candidates, recommended, nearest, requirement } = load;
  const tried = candidates.filter(({ trigger }) => trigger === undefined);
  const found = (c: CandidateRecord): string => {
    const { step, ramp } = requirement;
    const parts = [...(step ? [suddenText(c, step.size_mm)] : []), ...(ramp ? [steadyText(c)] : [])];
    return t`false alarms in 30 days ${falseAlarmText(c, load)}, ${list(parts)} (nine of ten cases, slowest station)`;
  };
  const out: string[] = [];
  if (recommended !== undefined) {
    const c = candidates[recommended]!;
    const meeting = candidates.filter(({ meets }) => meets).length;
    const n = formatNumber(meeting, 0);
    out.push(
      paragraph([
        t`Recommended: ${settingText(c)}.`,
        meeting === 1
          ? t`It alone meets what is asked: ${found(c)}.`
          : plural(
              meeting,
              msg`Of ${n} candidate that meets what is asked it needs the longest means, the fewest to compute and send, and of those the fewest messages: ${found(c)}.`,
              msg`Of ${n} candidates that meet what is asked it needs the longest means, the fewest to compute and send, and of those the fewest messages: ${found(c)}.`,
            ),
        guardSentence(c),
      ]),
    );
  } else if (nearest !== undefined) {
    const c = candidates[nearest]!;
    out.push(
      t`None of ${count(tried.length, 'candidate')} meets what is asked. The one that misses it least: ${settingText(c)}, with ${found(c)}. Less noise, longer time or a larger movement would have to be accepted.`,
    );
  } else if (candidates.length > 0)
    out.push(
      t`None of ${count(tried.length, 'candidate')} finds what is asked in the time that was simulated: the noise of the stations is too large for it, or the levels are.`,
    );
  else out.push(t`Nothing can be said: no noise of any station is known, and project.yaml assumes none.`);
  for (const c of candidates)
    if (c.trigger !== undefined)
      out.push(
        c.meets
          ? t`${c.trigger} (${settingText(c)}) meets what is asked: ${found(c)}.`
          : t`${c.trigger} (${settingText(c)}) does not meet what is asked: ${found(c)}.`,
      );
  return out;
}

/** How soon a candidate finds the sudden movement that is asked for. */
function suddenText(c: CandidateRecord, size_mm: number): string {
  if (c.step?.nineMs !== undefined) return t`the sudden movement in ${delayText(c.step, 'nineMs')}`;
  return c.level_mm > size_mm
    ? t`the sudden movement not in time (its level is above it)`
    : t`the sudden movement not in time`;
}

function steadyText({ ramp }: CandidateRecord): string {
  return ramp?.nineMs === undefined
    ? t`the steady one not in time`
    : t`the steady one in ${delayText(ramp, 'nineMs')}`;
}

function guardSentence({ persistence }: CandidateRecord): string | undefined {
  if (persistence.needed > 1) return undefined;
  return t`A single gross error would set it off; a persistence of two guards against that.`;
}

/** What the figures rest on. */
export function loadBasisSentence({
  measured,
  assumed,
  shared,
  left,
  referenceDays,
  months,
}: AlarmLoadRecord): string {
  const noise = [
    measured.length > 0 ? t`the measured noise of ${list(measured)}` : '',
    assumed.length > 0 ? t`the noise that project.yaml assumes for ${list(assumed)}` : '',
  ].filter(Boolean);
  const [length, known] = [count(months, 'month'), list(noise)];
  const [part, days] = [formatPercent(shared), count(referenceDays, 'day')];
  return paragraph([
    left.length > 0
      ? t`Simulated over ${length} of the network with ${known} (without ${list(left)}, of which none is known); ${part} of the variance is shared through the base; a reference period of ${days}.`
      : t`Simulated over ${length} of the network with ${known}; ${part} of the variance is shared through the base; a reference period of ${days}.`,
    t`The noise is taken as known, and what temperature and water do to the structure is not in it: on raw figures that adds false alarms. Nor are gross errors, such as a touched mast: persistence is what guards against those.`,
  ]);
}

/** Messages a day: `0.24`, `under 0.001`. */
export function messagesText({ messages }: CandidateRecord): string {
  if (messages === 0) return '0';
  return messages < 0.001 ? t`under 0.001` : formatShort(Number(messages.toPrecision(2)));
}
