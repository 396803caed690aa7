import type { DisplacementStatement, Snapshot, StationRecord, StatementSettings } from '@stillmark/records';
import {
  count,
  formatAzimuth,
  formatNumber,
  formatPercent,
  formatSize,
  formatWithUncertainty,
  list,
} from './numbers.ts';
import type { ZoneClock } from './times.ts';

/** Words and figures of a state, for labels that must be read without colour. */
export const stateWords = {
  moved: 'moved',
  still: 'no movement distinguishable',
  held: 'held',
  'no-data': 'no data',
  establishing: 'establishing',
  'not-statable': 'cannot be stated',
} as const;

export type StationState = keyof typeof stateWords;

export function stateOf(station: Pick<StationRecord, 'statement'>): StationState {
  const { statement } = station;
  if (statement.kind !== 'displacement') return statement.kind;
  return statement.horizontal.distinguishable || statement.up.distinguishable ? 'moved' : 'still';
}

/** `in 8 of 10 cases`. */
export function inCases(power: number): string {
  const tenths = power * 10;
  return Number.isInteger(Number(tenths.toFixed(6)))
    ? `in ${Math.round(tenths)} of 10 cases`
    : `in ${formatNumber(100 * power, 0)} of 100 cases`;
}

/** The sentence on one station: estimate, uncertainty, direction, since when, and what could not have been seen. */
export function stationSentence(
  station: StationRecord,
  settings: StatementSettings,
  clock: ZoneClock,
): string {
  const { id, statement } = station;
  switch (statement.kind) {
    case 'held':
      return `${id} is held at given coordinates: its own movement cannot be seen in positions that are computed from it.`;
    case 'no-data':
      return station.data
        ? `${id} has sent no usable positions in the last ${formatHours(settings.statementMs)}; the newest is of ${clock.dateTime(Date.parse(station.data.last))}.`
        : `${id} has no positions.`;
    case 'establishing': {
      const days = Math.floor(statement.observedDays);
      return days < statement.neededDays
        ? `${id} is not ready: ${days} of ${statement.neededDays} days observed, and no reference position is committed.`
        : `${id} has been observed for ${count(days, 'day')}, but no reference position is committed.`;
    }
    case 'not-statable':
      return `${id} cannot be stated, because ${statement.reason}.`;
    case 'displacement':
      return displacementSentence(station, statement, settings, clock);
  }
}

function displacementSentence(
  station: StationRecord,
  s: DisplacementStatement,
  settings: StatementSettings,
  clock: ZoneClock,
): string {
  const since = station.reference
    ? ` against its reference position of ${clock.days(Date.parse(station.reference.from), Date.parse(station.reference.to))}`
    : '';
  const { horizontal, up } = s;
  const sure = ` (${formatPercent(settings.confidence)})`;
  const across = `${formatWithUncertainty(horizontal.magnitude_mm, horizontal.plusMinus_mm)}${sure} toward ${formatAzimuth(horizontal.azimuthDeg)}`;
  const vertical = `${formatWithUncertainty(Math.abs(up.value_mm), up.plusMinus_mm)}${sure} ${up.value_mm < 0 ? 'down' : 'up'}`;
  if (horizontal.distinguishable && up.distinguishable)
    return `${station.id} has moved ${across} and ${vertical}${since}.`;
  const unseen = (size: number): string =>
    `${formatSize(size)} would have been seen ${inCases(settings.power)}`;
  if (horizontal.distinguishable) {
    return `${station.id} has moved ${across}${since}; up or down, no movement is distinguishable: ${unseen(up.detectable_mm)}.`;
  }
  if (up.distinguishable) {
    return `${station.id} has moved ${vertical}${since}; horizontally, no movement is distinguishable: ${unseen(horizontal.detectable_mm)}.`;
  }
  return `${station.id}: no movement distinguishable${since}; ${formatSize(horizontal.detectable_mm)} horizontally or ${formatSize(up.detectable_mm)} up or down would have been seen ${inCases(settings.power)}.`;
}

function formatHours(ms: number): string {
  return `${ms / 3_600_000} h`;
}

/** The answer to 'has anything moved?' in a few short sentences. */
export function headlineSentence(snapshot: Snapshot): string {
  const { moved, still, open, tests } = snapshot.headline;
  if (moved.length + still.length === 0) {
    return `Nothing can be said yet: none of ${count(open.length, 'monitoring station')} has a committed reference position and present data.`;
  }
  const parts: string[] = [];
  if (moved.length > 0) parts.push(`${list(moved)} ${moved.length === 1 ? 'has' : 'have'} moved.`);
  if (still.length > 0) parts.push(`At ${list(still)} no movement is distinguishable.`);
  if (open.length > 0) parts.push(`Of ${list(open)} nothing can be stated yet.`);
  if (moved.length > 0) {
    const risk = formatPercent(snapshot.settings.familySignificance);
    parts.push(
      `If nothing had moved, any such verdict among the ${count(tests, 'figure')} tested together would appear in at most ${risk} of cases.`,
    );
  }
  return parts.join(' ');
}

/** Can the network be trusted? What the bases show, and what they cannot. */
export function networkSentences(snapshot: Snapshot): string[] {
  const { held, observed } = snapshot.network;
  const out: string[] = [];
  if (held.length > 0) {
    out.push(
      `${list(held)} ${held.length === 1 ? 'is' : 'are'} held: if ${held.length === 1 ? 'it' : 'one of them'} moves, every station computed from it seems to move the other way, all by the same amount.`,
    );
  }
  const seen = snapshot.stations.filter((s) => observed.includes(s.id));
  for (const station of seen) {
    const state = stateOf(station);
    const s = station.statement;
    if (s.kind === 'displacement' && state === 'still') {
      out.push(
        `Seen from ${list(held)}, no movement of ${station.id} is distinguishable; ${formatSize(s.horizontal.detectable_mm)} horizontally or ${formatSize(s.up.detectable_mm)} up or down between the two would have been seen ${inCases(snapshot.settings.power)}.`,
      );
    } else if (state === 'moved') {
      out.push(
        `Seen from ${list(held)}, ${station.id} seems to move. These data alone cannot say which of the two moves: all movements on this page are in doubt until a check survey of both settles it.`,
      );
    } else out.push(`${station.id} cannot be compared with ${list(held)} at present.`);
  }
  if (observed.length === 0) {
    out.push(
      'With one base and no other, its movement cannot be told from movement of everything: a second base, a check survey or an absolute solution would settle it.',
    );
  } else if (observed.length === 1) {
    out.push(
      'With two bases a disagreement would be seen, but not whose it is: a third base or a check survey would settle it.',
    );
  }
  return out;
}
