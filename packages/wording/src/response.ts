import type {
  CorrectedStatement,
  HeightDependence,
  PairRecord,
  ResponseRecord,
  Snapshot,
  StatementSettings,
  UpStatement,
  WaveComponent,
} from '@stillmark/records';
import { msg, plural, t } from '@stillmark/words';
import {
  formatNumber,
  formatP,
  formatPercent,
  formatSize,
  formatWithUncertainty,
  list,
  paragraph,
  plusMinus,
} from './numbers.ts';
import { responseCheckText } from './readiness.ts';
import { acrossText, inCases, verticalText } from './phrases.ts';
import { dayOfYear, type ZoneClock } from './times.ts';

/** What logs do to a station, and where it stands without that. */
export function responseSentences(
  response: ResponseRecord,
  settings: StatementSettings,
  clock: ZoneClock,
): string[] {
  const { commitment, covariates, corrected, reason } = response;
  const logs = list(covariates.map(({ what }) => what));
  const span = clock.days(Date.parse(response.from), Date.parse(response.to));
  const against = response.checks.filter(({ verdict }) => verdict !== 'pass').map(responseCheckText);
  if (!commitment) {
    return [
      plural(
        covariates.length,
        msg`What ${logs} does is looked at over ${span}; no response is committed, so this stands in no figure.`,
        msg`What ${logs} do is looked at over ${span}; no response is committed, so this stands in no figure.`,
      ),
      ...(against.length > 0 ? [t`It cannot be committed from this span: ${list(against)}.`] : []),
    ];
  }
  const committed =
    commitment.despite === undefined
      ? t`Its response to ${logs} was committed from ${span} and is frozen.`
      : t`Its response to ${logs} was committed from ${span} and is frozen, though ${list(against)} (reason given: ${commitment.despite}).`;
  if (!corrected)
    return [paragraph([committed, t`The displacement less it cannot be stated, because ${reason}.`])];
  return [paragraph([committed, correctedSentence(corrected, settings)]), ...extrapolatedSentence(response)];
}

/** The same where it is not told yet that there is a response. */
export function explainedSentence(corrected: CorrectedStatement, settings: StatementSettings): string {
  return paragraph([
    t`What logs explain is known by a committed response.`,
    correctedSentence(corrected, settings),
  ]);
}

/** Where a station stands less its committed response. */
export function correctedSentence(
  { horizontal, up }: Pick<CorrectedStatement, 'horizontal' | 'up'>,
  settings: StatementSettings,
): string {
  const sure = formatPercent(settings.confidence);
  const found = [
    horizontal.distinguishable ? acrossText(horizontal, sure) : '',
    up.distinguishable ? verticalText(up, sure) : '',
  ].filter(Boolean);
  if (found.length > 0) return t`Less that, it has moved ${list(found)}.`;
  return t`Less that, no movement is distinguishable; ${formatSize(horizontal.detectable_mm)} horizontally or ${formatSize(up.detectable_mm)} up or down would have been seen ${inCases(settings.power)}.`;
}

/** In one sentence, where committed responses make another list of what moved than the positions as measured; undefined where they do not. */
export function lessHeadline({
  stations,
  headline,
}: Pick<Snapshot, 'stations' | 'headline'>): string | undefined {
  const corrected = correctedOf(stations);
  const moved = corrected.filter(({ moved: m }) => m).map(({ id }) => id);
  const known = new Set(corrected.map(({ id }) => id));
  const measured = headline.moved.filter((id) => known.has(id));
  if (moved.length === measured.length && moved.every((id) => measured.includes(id))) return undefined;
  return moved.length === 0
    ? plural(
        measured.length,
        msg`That is as measured: less what logs explain, ${list(measured)} has not moved.`,
        msg`That is as measured: less what logs explain, ${list(measured)} have not moved.`,
      )
    : plural(
        moved.length,
        msg`That is as measured: less what logs explain, ${list(moved)} has moved.`,
        msg`That is as measured: less what logs explain, ${list(moved)} have moved.`,
      );
}

/** Monitoring stations with a committed response, and whether they moved by more than it explains. */
function correctedOf(stations: Snapshot['stations']): { id: string; moved: boolean }[] {
  return stations.flatMap(({ id, role, response }) =>
    role === 'monitoring' && response?.commitment && response.corrected
      ? [
          {
            id,
            moved: response.corrected.horizontal.distinguishable || response.corrected.up.distinguishable,
          },
        ]
      : [],
  );
}

/**
 * What has moved by more than the committed responses explain, over the whole site; undefined where none is committed. Figures less a response are a
 * family of tests of their own.
 */
export function lessSentence({
  stations,
  settings,
}: Pick<Snapshot, 'stations' | 'settings'>): string | undefined {
  const corrected = correctedOf(stations);
  if (corrected.length === 0) return undefined;
  const moved = corrected.filter((c) => c.moved);
  const quiet = corrected.filter((c) => !c.moved);
  const ids = (all: typeof corrected): string => list(all.map(({ id }) => id));
  const whole =
    moved.length === 0
      ? t`at ${ids(quiet)} no movement is distinguishable`
      : quiet.length === 0
        ? plural(moved.length, msg`${ids(moved)} has moved`, msg`${ids(moved)} have moved`)
        : plural(
            moved.length,
            msg`${ids(moved)} has moved, and at ${ids(quiet)} no movement is distinguishable`,
            msg`${ids(moved)} have moved, and at ${ids(quiet)} no movement is distinguishable`,
          );
  return t`Less what logs explain, by committed responses (chance of a wrong 'moved' among them about ${formatPercent(settings.familySignificance)}): ${whole}.`;
}

function extrapolatedSentence({ corrected, covariates }: ResponseRecord): string[] {
  return (corrected?.today ?? []).flatMap(({ sensor, value, extrapolated }) => {
    if (!extrapolated) return [];
    const { what, unit, low, high } = covariates.find((c) => c.sensor === sensor)!;
    const figure = (v: number): string => formatNumber(v, 1);
    return [
      t`Extrapolated: ${what} stands at ${figure(value)} ${unit}, outside ${figure(low)} to ${figure(high)} ${unit}, from which the response was learnt.`,
    ];
  });
}

/** `3.0 ± 0.4, highest at 14:20 UTC`; a wave is told that is there in one of a hundred still series at most. */
export function waveText({ amplitude_mm, plusMinus_mm, peakMs, p }: WaveComponent, solar: boolean): string {
  const size = plusMinus(amplitude_mm, plusMinus_mm);
  if (p >= 0.01) return t`not sure (${size}, p ${formatP(p)})`;
  if (!solar) return size;
  const minutes = Math.round(peakMs / 60_000) % 1440;
  const two = (n: number): string => String(n).padStart(2, '0');
  return t`${size}, highest at ${two(Math.floor(minutes / 60))}:${two(minutes % 60)} UTC`;
}

/** What of the delay of the troposphere seems to be left in up. */
export function heightSentence(
  { stream, stations, heightSpan_m, scatter_mm, expected_mm, annual }: HeightDependence,
  base: string | undefined,
): string {
  const height = formatNumber(heightSpan_m, 0);
  const where =
    base === undefined
      ? plural(
          stations,
          msg`Up of ${stations} station in stream ${stream}, over ${height} m of height`,
          msg`Up of ${stations} stations in stream ${stream}, over ${height} m of height`,
        )
      : plural(
          stations,
          msg`Up of ${stations} station seen from ${base}, over ${height} m of height`,
          msg`Up of ${stations} stations seen from ${base}, over ${height} m of height`,
        );
  const scatter = t`from day to day ${formatSize(scatter_mm)} in 100 m, where the scatter of the stations makes ${formatSize(expected_mm)}`;
  if (!annual)
    return paragraph([t`${where}: ${scatter}.`, t`Nothing is said of the season before a year of data.`]);
  const wave = formatWithUncertainty(annual.amplitude_mm, annual.plusMinus_mm);
  return annual.amplitude_mm > annual.plusMinus_mm
    ? paragraph([
        t`${where}: a yearly wave of ${wave} in 100 m, highest in ${dayOfYear(annual.peakDay)}; ${scatter}.`,
        t`What the processing leaves of the delay of the troposphere does this, and looks like temperature.`,
      ])
    : t`${where}: no yearly wave is distinguishable (${wave} in 100 m); ${scatter}.`;
}

/** What two stations did against each other. */
export function againstSentence(pair: PairRecord, settings: StatementSettings): string {
  const { from, to, statement: s, reason } = pair;
  if (!s) return t`${from} and ${to} cannot be compared, because ${reason}.`;
  const { distance, settlement } = s;
  const size = (of: UpStatement): string => formatWithUncertainty(Math.abs(of.value_mm), of.plusMinus_mm);
  const found: string[] = [];
  if (distance.distinguishable)
    found.push(
      distance.value_mm > 0
        ? t`their distance has grown by ${size(distance)}`
        : t`their distance has shrunk by ${size(distance)}`,
    );
  if (settlement.distinguishable)
    found.push(
      settlement.value_mm > 0
        ? t`${to} has risen against ${from} by ${size(settlement)}`
        : t`${to} has settled against ${from} by ${size(settlement)}`,
    );
  if (found.length > 0) return t`${from} and ${to}: ${list(found)} (${formatPercent(settings.confidence)}).`;
  return t`${from} and ${to}: no change is distinguishable; ${formatSize(distance.detectable_mm)} of distance or ${formatSize(settlement.detectable_mm)} of settlement would have been seen ${inCases(settings.power)}.`;
}
