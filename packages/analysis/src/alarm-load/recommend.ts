import type { AlarmLoadRecord, AlarmSetting, CandidateRecord, DelayRecord } from '@stillmark/records';
import type { CandidateLoad } from './simulate.ts';

export interface NamedSetting extends AlarmSetting {
  /** Name of the trigger whose level this is, where it is one of the project. */
  readonly trigger?: string;
}

const perMonthDays = 30;

/**
 * What each candidate costs and finds against what is required, and the cheapest that meets it: that of the longest means (the fewest to
 * compute, to send and to look at), of those the one with the fewest messages, of those one that asks for more than a single mean (gross
 * errors are in no noise), of those the earliest.
 */
export function recommend(
  settings: readonly NamedSetting[],
  loads: readonly CandidateLoad[],
  requirement: AlarmLoadRecord['requirement'],
): Pick<AlarmLoadRecord, 'candidates' | 'recommended' | 'nearest'> {
  const candidates = settings.map((setting, i) => candidateOf(setting, loads[i]!, requirement));
  const indices = candidates.map((_, i) => i);
  const meeting = indices.filter((i) => candidates[i]!.meets);
  if (meeting.length > 0) {
    const cost = (i: number): readonly number[] => {
      const c = candidates[i]!;
      const single = c.persistence.needed === 1 ? 1 : 0;
      return [-c.windowMs, c.messages, single, lateness(c, requirement), -c.level_mm];
    };
    return { candidates, recommended: meeting.toSorted((a, b) => compare(cost(a), cost(b)))[0]! };
  }
  const misses = (i: number): number =>
    Math.max(candidates[i]!.network / requirement.falseAlarms, lateness(candidates[i]!, requirement));
  const nearest = indices.toSorted((a, b) => misses(a) - misses(b))[0];
  return { candidates, ...(nearest === undefined || !Number.isFinite(misses(nearest)) ? {} : { nearest }) };
}

function compare(a: readonly number[], b: readonly number[]): number {
  const k = a.findIndex((v, i) => v !== b[i]);
  return k < 0 ? 0 : a[k]! - b[k]!;
}

/** The longer of the delays in nine of ten cases, as a share of what is allowed. */
function lateness({ step, ramp }: CandidateRecord, required: AlarmLoadRecord['requirement']): number {
  const share = (delay: DelayRecord | undefined, within: number | undefined): number =>
    within === undefined ? 0 : (delay?.nineMs ?? Number.POSITIVE_INFINITY) / within;
  return Math.max(share(step, required.step?.withinMs), share(ramp, required.ramp?.withinMs));
}

function candidateOf(
  setting: NamedSetting,
  load: CandidateLoad,
  requirement: AlarmLoadRecord['requirement'],
): CandidateRecord {
  const { alarms, months, quietMonths, messages, step, ramp } = load;
  const rates = alarms.map((events) => events / months).sort();
  const network = rates.reduce((sum, v) => sum + v, 0);
  const out = {
    ...setting,
    network,
    median: rates[Math.floor(rates.length / 2)] ?? 0,
    worst: rates.at(-1) ?? 0,
    quiet: quietMonths / months,
    messages: messages / months / perMonthDays,
    ...(step ? { step: slowest(step) } : {}),
    ...(ramp ? { ramp: slowest(ramp) } : {}),
    meets: false,
  };
  // None in so many months is at most three in that time, with 95 % (Hanley and Lippman-Hand 1983, JAMA 249, 1743-1745).
  const shown = network === 0 ? 3 / months : network;
  return { ...out, meets: shown <= requirement.falseAlarms && lateness(out, requirement) <= 1 };
}

/** Of the station that is slowest. */
function slowest(delays: readonly Float64Array[]): DelayRecord {
  const of = (share: number): number =>
    Math.max(...delays.map((own) => own[Math.ceil(share * own.length) - 1] ?? Number.POSITIVE_INFINITY));
  const [half, nine] = [of(0.5), of(0.9)];
  return {
    ...(Number.isFinite(half) ? { halfMs: half } : {}),
    ...(Number.isFinite(nine) ? { nineMs: nine } : {}),
  };
}
