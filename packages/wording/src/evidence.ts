import type {
  ClosureRecord,
  CommonModeHypothesis,
  CommonModeRecord,
  Snapshot,
  StatementSettings,
  StreamView,
  SurveyComponent,
  SurveyRecord,
} from '@stillmark/records';
import { axisNames, msg, plural, t } from '@stillmark/words';
import { formatNumber, formatSize, formatWithUncertainty, list, paragraph, semicolons } from './numbers.ts';
import { acrossText, inCases, verticalText } from './phrases.ts';
import type { ZoneClock } from './times.ts';

/** Twice the standard deviation: what is named here is one explanation among others, and no test. */
const about = 2;

function commonText({ common }: CommonModeHypothesis, other = false): string {
  if (!common) return '';
  const sign = other ? -1 : 1;
  const [east, north, up] = [sign * common.east_mm, sign * common.north_mm, sign * common.up_mm];
  const size = Math.hypot(east, north);
  const sigma = Math.hypot(east * common.eastSigma_mm, north * common.northSigma_mm) / Math.max(size, 1e-9);
  const azimuth = ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360;
  const parts = [
    size > about * sigma
      ? acrossText({ magnitude_mm: size, plusMinus_mm: about * sigma, azimuthDeg: azimuth })
      : '',
    Math.abs(up) > about * common.upSigma_mm
      ? verticalText({ value_mm: up, plusMinus_mm: about * common.upSigma_mm })
      : '',
  ].filter(Boolean);
  return list(parts);
}

/** `probability 0.98`, and never more than can be meant; with the next explanation where it may be true. */
function certainty({ weight }: CommonModeHypothesis, next?: CommonModeHypothesis): string {
  const own = weight > 0.99 ? t`probability above 0.99` : t`probability ${formatNumber(weight, 2)}`;
  return next !== undefined && next.weight > 0.01
    ? t`${own}; ${kindWords(next)} ${formatNumber(next.weight, 2)}`
    : own;
}

/** What explains the movements of one stream, what else would, and what would settle it. */
export function commonSentence({ stream, base, others, hypotheses }: CommonModeRecord): string {
  const [best, next] = hypotheses as readonly [CommonModeHypothesis, CommonModeHypothesis];
  const { alone } = best;
  if (best.kind === 'nothing')
    return alone.length === 0
      ? t`Seen from ${base} (${stream}), the stations share no movement, and none moved alone (${certainty(best)}).`
      : plural(
          alone.length,
          msg`Seen from ${base} (${stream}), the stations share no movement; ${list(alone)} moved alone (${certainty(best)}).`,
          msg`Seen from ${base} (${stream}), the stations share no movement; ${list(alone)} moved alone (${certainty(best)}).`,
        );
  const besides =
    alone.length === 0
      ? []
      : [
          plural(
            alone.length,
            msg`besides ${list(alone)} moved alone`,
            msg`besides ${list(alone)} moved alone`,
          ),
        ];
  // Without another base the two are one and the same.
  if (others.length === 0) {
    const seen = t`Seen from ${base} (${stream}), all stations share a movement of ${commonText(best)}`;
    return paragraph([
      t`${semicolons([seen, ...besides])}.`,
      t`Whether ${base} moved or the whole structure cannot be told apart from these vectors: another base or a check station off the structure, an absolute solution or a check survey of ${base} would settle it.`,
    ]);
  }
  const explained =
    best.kind === 'base'
      ? t`Seen from ${base} (${stream}), all stations, and ${list(others)}, seem to move together by ${commonText(best)}: so it looks when ${base} itself moves by ${commonText(best, true)}`
      : plural(
          others.length,
          msg`Seen from ${base} (${stream}), the stations of the structure share a movement of ${commonText(best)} while ${list(others)} stays: so it looks when the whole structure moves, by water or warmth too`,
          msg`Seen from ${base} (${stream}), the stations of the structure share a movement of ${commonText(best)} while ${list(others)} stay: so it looks when the whole structure moves, by water or warmth too`,
        );
  return t`${semicolons([explained, ...besides])} (${certainty(best, next)}).`;
}

function kindWords({ kind, alone }: CommonModeHypothesis): string {
  const ids = list(alone);
  switch (kind) {
    case 'nothing':
      return alone.length > 0 ? t`nothing in common and ${ids} alone` : t`nothing in common`;
    case 'base':
      return alone.length > 0 ? t`the base and ${ids} alone` : t`the base`;
    case 'structure':
      return alone.length > 0 ? t`the structure and ${ids} alone` : t`the structure`;
  }
}

/** Whether two streams of the stations agree beyond what their bases do; undefined where none can be compared. */
export function closureSentences(closures: readonly ClosureRecord[], settings: StatementSettings): string[] {
  if (closures.length === 0) return [];
  const differs = ({ horizontal, up }: ClosureRecord): boolean =>
    horizontal.distinguishable || up.distinguishable;
  const apart = closures.filter(differs);
  const rest = closures.filter((c) => !differs(c));
  const out = apart.map(({ id, streams, horizontal, up }) => {
    const found = [
      horizontal.distinguishable ? acrossText(horizontal) : '',
      up.distinguishable ? verticalText(up) : '',
    ].filter(Boolean);
    return t`Streams ${list([...streams])} of ${id} disagree by ${list(found)} beyond what their bases do against each other: a fault of a processing, of a tie, or of an antenna that was touched unsaid. No movement of ${id} or of a base looks like this.`;
  });
  if (rest.length > 0) {
    const most = Math.max(...rest.map(({ horizontal }) => horizontal.detectable_mm));
    const n = rest.length;
    const agree =
      apart.length > 0
        ? plural(
            n,
            msg`Of the other station the streams agree but for what their bases do against each other`,
            msg`Of the other ${n} stations the streams agree but for what their bases do against each other`,
          )
        : plural(
            n,
            msg`Of ${n} station the streams agree but for what their bases do against each other`,
            msg`Of ${n} stations the streams agree but for what their bases do against each other`,
          );
    out.push(t`${agree}; ${formatSize(most)} horizontally would have been seen ${inCases(settings.power)}.`);
  }
  return out;
}

function componentText({
  axis,
  value_mm,
  plusMinus_mm,
  ours_mm,
  oursPlusMinus_mm,
  agrees,
}: SurveyComponent): string {
  const [name, size] = [axisNames[axis], formatWithUncertainty(value_mm, plusMinus_mm)];
  if (ours_mm === undefined || oursPlusMinus_mm === undefined)
    return t`${name} ${size} (positions say nothing of that time)`;
  const ours = formatWithUncertainty(ours_mm, oursPlusMinus_mm);
  return agrees
    ? t`${name} ${size} (positions say ${ours}: they agree)`
    : t`${name} ${size} (positions say ${ours}: they do not agree)`;
}

/** A check survey, and what positions say of the same. */
export function surveySentence(
  { at, station, method, by, result, components }: SurveyRecord,
  clock: ZoneClock,
): string {
  return paragraph([
    t`${clock.date(Date.parse(at))}, ${station}, ${method} by ${by}: ${result.replace(/\.$/, '')}.`,
    components.length === 0 ? undefined : t`Found: ${list(components.map(componentText))}.`,
  ]);
}

/** Figures across a change of the processing that nothing ties. */
export function untiedSentence(
  id: string,
  untied: NonNullable<StreamView['untied']>,
  clock: ZoneClock,
): string {
  const [first] = untied;
  return t`${id} is in doubt, since its processing changed on ${clock.date(Date.parse(first!.at))} (${first!.what}) and no event ties what was before and after.`;
}

/** Streams whose processing changed untied, once each. */
export function untiedStreams({
  stations,
}: Pick<Snapshot, 'stations'>): { stream: string; at: string; what: string }[] {
  const found = new Map<string, { stream: string; at: string; what: string }>();
  for (const station of stations)
    for (const view of [station, ...station.others])
      for (const { at, what } of view.untied ?? [])
        if (view.stream) found.set(`${view.stream.name} ${at}`, { stream: view.stream.name, at, what });
  return [...found.values()];
}
