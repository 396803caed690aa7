import type {
  DecisionRecord,
  NetworkRecord,
  OntoStable,
  Snapshot,
  StationRecord,
  StatementSettings,
} from '@stillmark/records';
import { msg, plural, t } from '@stillmark/words';
import { formatP, formatPercent, formatSize, formatSizeRange, list, paragraph } from './numbers.ts';
import { acrossText, inCases, verticalText } from './phrases.ts';
import type { ZoneClock } from './times.ts';

/** The decision that counts for a base: the latest. */
export function decisionOn(
  network: Pick<NetworkRecord, 'decisions'>,
  base: string,
): DecisionRecord | undefined {
  return network.decisions.findLast((d) => d.base === base);
}

/** Whether the latest decision on a base covers what has been seen since an instant: a base taken as stable may move later. */
function covers(decision: DecisionRecord | undefined, since: string): boolean {
  return decision?.finding === 'stable' && decision.at >= since;
}

/**
 * Bases in doubt by the test among the bases, by the pairs for those that are not in that test, and by decision of the responsible
 * engineer.
 *
 * @param byPairs what the pairs of bases speak for
 */
export function doubtedIn(network: NetworkRecord, byPairs: readonly string[]): readonly string[] {
  const { stability, decisions } = network;
  const decided = [...new Set(decisions.map(({ base }) => base))].filter(
    (base) => decisionOn(network, base)?.finding === 'moving',
  );
  const shown: string[] = [];
  if (!stability) shown.push(...byPairs.filter((base) => decisionOn(network, base)?.finding !== 'stable'));
  else {
    const { finding, bases } = stability;
    if (finding.kind === 'moving')
      shown.push(
        ...finding.moving
          .filter(({ id, since }) => !covers(decisionOn(network, id), since))
          .map(({ id }) => id),
      );
    if (finding.kind === 'unclear')
      shown.push(...bases.filter((id) => !covers(decisionOn(network, id), finding.since)));
    shown.push(
      ...byPairs.filter((id) => !bases.includes(id) && decisionOn(network, id)?.finding !== 'stable'),
    );
  }
  return [...new Set([...shown, ...decided])];
}

/** What the bases show of each other, in words an owner understands. */
export function stabilitySentences({ network, settings }: Snapshot, clock: ZoneClock): string[] {
  const { stability, untested } = network;
  if (!stability)
    return [
      untested === undefined
        ? t`Whether the bases keep their places among each other cannot be tested, because nothing is known of them.`
        : t`Whether the bases keep their places among each other cannot be tested, because ${untested}.`,
    ];
  const { finding, bases, left, movements, p, persistence, window } = stability;
  const day = (at: string): string => clock.date(Date.parse(at));
  const out: string[] = [];
  switch (finding.kind) {
    case 'congruent': {
      const least = movements.map(({ horizontal }) => horizontal.detectable_mm);
      out.push(
        paragraph([
          t`On ${day(window.from)} ${list(bases)} keep their places among each other (p ${formatP(p)}).`,
          least.length === 0
            ? undefined
            : t`In the figures of single bases ${formatSize(Math.max(...least))} horizontally would have been distinguishable ${inCases(settings.power)}.`,
        ]),
      );
      break;
    }
    case 'watch':
      out.push(
        finding.accused.length === 0
          ? plural(
              persistence,
              msg`In the last days some base seems to have moved against the others; ${persistence} day in a row is asked before it is said to move.`,
              msg`In the last days some base seems to have moved against the others; ${persistence} days in a row are asked before it is said to move.`,
            )
          : plural(
              finding.accused.length,
              msg`In the last days ${list(finding.accused)} seems to have moved against the others; ${persistence} days in a row are asked before it is said to move.`,
              msg`In the last days ${list(finding.accused)} seem to have moved against the others; ${persistence} days in a row are asked before they are said to move.`,
            ),
      );
      break;
    case 'unclear':
      out.push(
        t`${list(bases)} have moved against each other, seen since ${day(finding.since)}, and the data do not say which of them: a check survey of the bases would settle it. Until that or a decision of the responsible engineer every figure is in doubt.`,
      );
      break;
    case 'moving':
      for (const { id, since, earliest, latest } of finding.moving) {
        const own = movements.find((m) => m.id === id);
        const others = list(bases.filter((base) => !finding.moving.some((m) => m.id === base)));
        const sure = formatPercent(settings.confidence);
        const size =
          own &&
          list([
            acrossText(own.horizontal, sure),
            ...(own.up.distinguishable ? [verticalText(own.up, sure)] : []),
          ]);
        const seen = day(since);
        const moves =
          earliest !== undefined && latest !== undefined
            ? size === undefined
              ? t`${id} moves against ${others}, seen since ${seen}; it began between ${day(earliest)} and ${day(latest)}.`
              : t`${id} moves against ${others}, seen since ${seen}; it began between ${day(earliest)} and ${day(latest)}, by now ${size}.`
            : size === undefined
              ? t`${id} moves against ${others}, seen since ${seen}.`
              : t`${id} moves against ${others}, seen since ${seen}, by now ${size}.`;
        out.push(
          paragraph([
            moves,
            t`No other base explains it as well, though ${others} moving together the other way would look the same. A check survey of ${id} would settle it.`,
          ]),
        );
      }
      break;
  }
  for (const { id, why } of left) out.push(t`${id} is not in this test: ${why}.`);
  if (bases.length === 2)
    out.push(
      t`With two bases a movement would be seen, but not whose it is: a third base or a check survey would settle it.`,
    );
  return out;
}

/** What an engineer decided of a base. */
export function decisionSentence(
  { base, finding, since, by, at, why }: DecisionRecord,
  clock: ZoneClock,
): string {
  const day = (instant: string): string => clock.date(Date.parse(instant));
  const decided =
    finding === 'stable'
      ? t`Decided by ${by} on ${day(at)}: ${base} is taken as stable: no doubt is raised by what the bases show of it.`
      : since === undefined
        ? t`Decided by ${by} on ${day(at)}: ${base} moves: figures computed from it stay in doubt.`
        : t`Decided by ${by} on ${day(at)}: ${base} moves since ${day(since)}: figures computed from it stay in doubt.`;
  return paragraph([decided, why]);
}

/** Where a station stands against the bases that stand still. */
export function ontoSentence({ stable, horizontal, up }: OntoStable, settings: StatementSettings): string {
  const sure = formatPercent(settings.confidence);
  const found = [
    horizontal.distinguishable ? acrossText(horizontal, sure) : '',
    up.distinguishable ? verticalText(up, sure) : '',
  ].filter(Boolean);
  if (found.length > 0) return t`Told from ${list(stable)}, which stand still, it has moved ${list(found)}.`;
  return t`Told from ${list(stable)}, which stand still, no movement is distinguishable; ${formatSize(horizontal.detectable_mm)} horizontally or ${formatSize(up.detectable_mm)} up or down would have been seen ${inCases(settings.power)}.`;
}

/** Stations that do not move against the bases that stand still, in one sentence. */
export function quietOntoSentence(
  quiet: readonly { readonly id: string; readonly onto: OntoStable }[],
  settings: StatementSettings,
): string {
  const range = (of: (onto: OntoStable) => number): string => {
    return formatSizeRange(quiet.map(({ onto }) => of(onto)));
  };
  const stable = [...new Set(quiet.flatMap(({ onto }) => onto.stable))];
  return t`Told from ${list(stable)}, which stand still, no movement is distinguishable of ${list(quiet.map(({ id }) => id))}; ${range((o) => o.horizontal.detectable_mm)} horizontally or ${range((o) => o.up.detectable_mm)} up or down, by station, would have been seen ${inCases(settings.power)}.`;
}

/** A station whose base is in doubt: that first, then what the bases that stand still say of it, and last what its own base does. */
export function doubtedSentence(
  { id, statement, ontoStable }: Pick<StationRecord, 'id' | 'statement' | 'ontoStable'>,
  base: string,
  settings: StatementSettings,
): string {
  const doubt = paragraph([
    t`${id} is in doubt, since its base ${base} seems to move.`,
    ontoStable && ontoSentence(ontoStable, settings),
  ]);
  if (statement.kind !== 'displacement') return doubt;
  const { horizontal, up } = statement;
  const found = [
    horizontal.distinguishable ? acrossText(horizontal) : '',
    up.distinguishable ? verticalText(up) : '',
  ].filter(Boolean);
  return paragraph([
    doubt,
    found.length > 0
      ? t`Seen from ${base} it seems to have moved ${list(found)}.`
      : t`Seen from ${base} it seems to stand still.`,
  ]);
}
