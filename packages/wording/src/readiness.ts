import type { CheckRecord, ReadinessRecord } from '@stillmark/records';
import { msg, plural, t } from '@stillmark/words';
import { formatNumber, formatP, list, paragraph } from './numbers.ts';
import type { ZoneClock } from './times.ts';

/** What a piece of evidence for a reference period says, in a clause about 'it', the period. */
export function checkText({ check, of = '', value, limit, p }: CheckRecord): string {
  const figure = (v: number | undefined, digits: number): string =>
    v === undefined ? '–' : formatNumber(v, digits);
  switch (check) {
    case 'span':
      return plural(
        limit,
        msg`it spans ${figure(value, 1)} of ${formatNumber(limit, 0)} day`,
        msg`it spans ${figure(value, 1)} of ${formatNumber(limit, 0)} days`,
      );
    case 'windows':
      return t`${figure(value, 0)} % of its windows have a solution, ${formatNumber(limit, 0)} % are needed`;
    case 'hours':
      return plural(
        limit,
        msg`${figure(value, 0)} of ${formatNumber(limit, 0)} sidereal hour was observed`,
        msg`${figure(value, 0)} of ${formatNumber(limit, 0)} sidereal hours were observed`,
      );
    case 'cycle':
      return t`${figure(value, 0)} % of the repeat cycle of ${of} were observed, ${formatNumber(limit, 0)} % are needed`;
    case 'satellites':
      return plural(
        limit,
        msg`${figure(value, 0)} of the ${formatNumber(limit, 0)} satellite of ${of} that the network tracked was tracked`,
        msg`${figure(value, 0)} of the ${formatNumber(limit, 0)} satellites of ${of} that the network tracked were tracked`,
      );
    case 'settled':
      return value === undefined
        ? t`its running mean has not had six days to come to rest`
        : t`its running mean (${of}) moved by ${figure(value, 1)} mm in the last three days, at most ${formatNumber(limit, 1)} mm may be`;
    case 'drift':
      return value === undefined
        ? t`its windows are too few to tell a drift`
        : p === undefined
          ? t`its positions run by ${figure(value, 1)} mm in 30 days`
          : t`its positions run by ${figure(value, 1)} mm in 30 days (p ${formatP(p)} where nothing moves)`;
    case 'steps':
      return value === 0
        ? t`it holds no step that is no movement`
        : plural(
            value ?? 0,
            msg`it holds ${figure(value ?? 0, 0)} step that is no movement`,
            msg`it holds ${figure(value ?? 0, 0)} steps that are no movement`,
          );
    case 'bases':
      return value === 0
        ? t`the bases that are seen have reference positions`
        : plural(
            value ?? 0,
            msg`of ${of}, which is to show whether the base moves, no reference position is committed`,
            msg`of ${of}, which are to show whether the base moves, no reference position is committed`,
          );
    case 'confounding':
      return t`what ${of} does cannot well be told from a lasting movement: the two estimates are correlated by ${figure(value, 2)}, at most ${formatNumber(limit, 1)} may be`;
    case 'lag':
      return t`the lag at which ${of} explains most, ${figure(value, 1)} days, is the longest that was looked at`;
  }
}

/** Whether a station's reference period can be committed, and when it can. */
export function readinessSentence(
  id: string,
  { ready, readyAt, checks }: ReadinessRecord,
  committed: boolean,
  clock: ZoneClock,
): string {
  const lacking = checks.filter(({ verdict }) => verdict !== 'pass');
  if (ready)
    return committed
      ? t`${id}: the evidence for its reference period stands.`
      : t`${id} is ready: its reference position can be committed.`;
  const why = list(lacking.map(checkText));
  if (committed) return t`${id}: of the evidence for its reference period, ${why}.`;
  return paragraph([
    t`${id} is not ready: ${why}.`,
    readyAt === undefined
      ? undefined
      : t`At today's completeness it can be ready on ${clock.date(Date.parse(readyAt))}.`,
  ]);
}

/** The same for a response model, whose windows need every log too. */
export function responseCheckText(check: CheckRecord): string {
  return check.check === 'windows'
    ? t`${check.value === undefined ? '–' : formatNumber(check.value, 0)} % of its means have a position and every log, ${formatNumber(check.limit, 0)} % are needed`
    : checkText(check);
}
