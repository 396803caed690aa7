import { glonassOrbit, keplerOrbit, orbitConstants, type Orbit } from '@stillmark/geodesy';
import { fail, problem } from '@stillmark/problems';
import { gpsMinusUtcSeconds } from '@stillmark/records';
import type { RejectedRow } from '../csv.ts';
import { LineSplitter } from '../lines.ts';
import { calendarMs, fixed, headerRecord, rinexKind, satelliteName, type RinexKind } from './header.ts';

/** The orbit of one satellite over the time for which it was broadcast. Times are calendar readings in GPS time, milliseconds since 1970. */
export interface BroadcastOrbit {
  readonly satellite: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly referenceMs: number;
  readonly healthy: boolean;
  readonly orbit: Orbit;
  /** Number of the frequency, of GLONASS. */
  readonly channel?: number;
}

const hourMs = 3_600_000;
const weekMs = 168 * hourMs;

/** Begin of the weeks of a constellation, as a calendar reading in GPS time (BeiDou time is 14 s behind it). */
const weekOrigin: Readonly<Record<string, number>> = {
  G: Date.UTC(1980, 0, 6),
  J: Date.UTC(1980, 0, 6),
  E: Date.UTC(1980, 0, 6),
  I: Date.UTC(1980, 0, 6),
  C: Date.UTC(2006, 0, 1) + 14_000,
};

/** So long before and after its reference time an orbit is used: to see where a satellite stands, not to measure by it. */
const validMs: Readonly<Record<string, number>> = {
  G: 4 * hourMs,
  J: 4 * hourMs,
  E: 4 * hourMs,
  I: 4 * hourMs,
  C: 4 * hourMs,
  R: 45 * 60_000,
};

/** Messages of RINEX 4 that are laid out as in RINEX 3; the others bring the same orbits in another layout, and are passed over. */
const usualMessages = new Set(['LNAV', 'INAV', 'FNAV', 'FDMA', 'D1', 'D2', 'D1D2']);

interface OpenMessage {
  readonly line: number;
  readonly text: string;
  readonly lines: string[];
}

/**
 * Reads RINEX navigation files (2.10 to 2.12, 3.00 to 3.05, 4.00 to 4.02): the broadcast orbits of GPS, GLONASS, Galileo, BeiDou, QZSS
 * and NavIC. Records that cannot be read are rejected one by one; satellites of augmentation systems, ionosphere and Earth rotation are
 * passed over.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_ROW where the file as a whole cannot be used
 */
export function readNavigation(
  bytes: Uint8Array,
  file: string,
): { orbits: BroadcastOrbit[]; rejected: RejectedRow[] } {
  const orbits: BroadcastOrbit[] = [];
  const rejected: RejectedRow[] = [];
  let kind: RinexKind | undefined;
  let inHead = true;
  let open: OpenMessage | undefined;
  let passedOver = false;
  const close = (): void => {
    if (open && !passedOver) {
      const found = orbitOf(open.lines, kind!);
      if (typeof found === 'string')
        rejected.push({
          problem: problem('INPUT_ROW', found, {
            at: { file, line: open.line, column: 1 },
            sourceLine: open.text.slice(0, 80),
            hint: 'the record as it was broadcast',
          }),
          line: open.line,
          text: open.text,
        });
      else if (found) orbits.push(found);
    }
    open = undefined;
  };
  const lines = new LineSplitter(file, (text, line) => {
    if (line === 1) {
      kind = rinexKind(text, file);
      if (!'NGH'.includes(kind.type))
        fail('INPUT_ROW', 'the file holds no orbits', {
          at: { file, line: 1, column: 21 },
          sourceLine: text.slice(0, 80),
          hint: 'N in column 21',
        });
    } else if (inHead) inHead = headerRecord(text).label !== 'END OF HEADER';
    else if (text.startsWith('>')) {
      close();
      const [, , , message = ''] = text.split(/\s+/);
      passedOver = !text.startsWith('> EPH') || !usualMessages.has(message);
    } else if (begins(text, kind!)) {
      close();
      if (kind!.version < 4) passedOver = false;
      open = { line, text, lines: [text] };
    } else open?.lines.push(text);
  });
  lines.take(bytes);
  lines.end();
  close();
  if (!kind) fail('INPUT_EMPTY', 'the file is empty', { at: { file } });
  if (inHead)
    fail('INPUT_CUT', 'the file ends in its head', { at: { file }, hint: 'END OF HEADER, and records' });
  return { orbits, rejected };
}

/** Records begin at the left edge; their further lines are indented. */
function begins(text: string, { version }: RinexKind): boolean {
  return version < 3 ? /^[ \d]\d [ \d]\d/.test(text) : /^[A-Z][ \d]\d/.test(text);
}

/** The orbit of a record; why it cannot be read; undefined for what is not asked for. */
function orbitOf(
  lines: readonly string[],
  { version, type }: RinexKind,
): BroadcastOrbit | string | undefined {
  const [head = ''] = lines;
  const early = version < 3;
  const letter = early ? (type === 'G' ? 'R' : 'G') : head[0]!;
  if (early && type === 'H') return undefined;
  if (!(letter in validMs)) return undefined;
  const satellite = satelliteName(early ? letter + head.slice(0, 2) : head.slice(0, 3));
  if (satellite === undefined) return 'the record names no satellite';
  const field = (from: number, width: number): number | undefined => fixed(head, from, width);
  const clockMs = early
    ? calendarMs(field(2, 3), field(5, 3), field(8, 3), field(11, 3), field(14, 3), field(17, 5))
    : calendarMs(field(4, 4), field(9, 2), field(12, 2), field(15, 2), field(18, 2), field(21, 2));
  if (clockMs === undefined) return 'the time of the record is not of the calendar';
  const indent = early ? 3 : 4;
  const value = (line: number, column: number): number | undefined =>
    fixed(lines[line] ?? '', indent + 19 * column, 19);
  return letter === 'R' ? glonassOf(satellite, clockMs, value) : keplerOf(satellite, letter, clockMs, value);
}

type Field = (line: number, column: number) => number | undefined;

function keplerOf(satellite: string, letter: string, clockMs: number, value: Field): BroadcastOrbit | string {
  const read = [
    value(1, 1), value(1, 2), value(1, 3), value(2, 0), value(2, 1), value(2, 2), value(2, 3), value(3, 0),
    value(3, 1), value(3, 2), value(3, 3), value(4, 0), value(4, 1), value(4, 2), value(4, 3), value(5, 0),
  ]; // prettier-ignore
  if (read.some((v) => v === undefined)) return 'the record has not all elements of an orbit';
  const [crs, deltaN, m0, cuc, e, cus, sqrtA, toe, cic, node, cis, i0, crc, perigee, nodeRate, idot] =
    read as number[];
  // What no satellite can fly would lead the arithmetic astray.
  if (!(e! >= 0 && e! < 0.5 && sqrtA! > 4000 && sqrtA! < 8000 && toe! >= 0 && toe! <= weekMs / 1000))
    return 'the elements are those of no navigation satellite';
  const origin = weekOrigin[letter]!;
  const clock = clockMs + (letter === 'C' ? 14_000 : 0);
  // The week is that in which the time of the orbit is nearest to that of the clock: numbers of weeks roll over.
  const weeks = Math.round((clock - origin - 1000 * toe!) / weekMs);
  const toeMs = origin + weeks * weekMs + 1000 * toe!;
  const number = Number(satellite.slice(1));
  const health = value(6, 1) ?? 0;
  return {
    satellite,
    fromMs: toeMs - validMs[letter]!,
    toMs: toeMs + validMs[letter]!,
    referenceMs: toeMs,
    // Of QZSS each signal has a bit, the highest that of L1 C/A (IS-QZSS-PNT, from memory): others may be off without harm.
    healthy: letter === 'J' ? health < 32 : health === 0,
    orbit: keplerOrbit({
      constants:
        letter === 'C' ? orbitConstants.BeiDou : letter === 'E' ? orbitConstants.Galileo : orbitConstants.GPS,
      toeMs,
      toe: toe!,
      sqrtA: sqrtA!,
      eccentricity: e!,
      inclination: i0!,
      node: node!,
      perigee: perigee!,
      meanAnomaly: m0!,
      nodeRate: nodeRate!,
      meanMotionDifference: deltaN!,
      inclinationRate: idot!,
      corrections: { cuc: cuc!, cus: cus!, crc: crc!, crs: crs!, cic: cic!, cis: cis! },
      // BDS-SIS-ICD: the satellites 1 to 5 and 59 to 63 are geostationary.
      geostationary: letter === 'C' && (number <= 5 || number >= 59),
    }),
  };
}

/** Positions come in km, velocities in km/s, accelerations in km/s^2, in UTC. */
function glonassOf(satellite: string, utcMs: number, value: Field): BroadcastOrbit | string {
  const axis = [1, 2, 3].map((line) => [value(line, 0), value(line, 1), value(line, 2)]);
  if (axis.flat().some((v) => v === undefined)) return 'the record has not all elements of an orbit';
  const of = (column: number): [number, number, number] =>
    axis.map((row) => 1000 * row[column]!) as [number, number, number];
  const [position, velocity, acceleration] = [of(0), of(1), of(2)];
  const [radius, speed] = [Math.hypot(...position), Math.hypot(...velocity)];
  if (!(radius > 2e7 && radius < 3e7 && speed < 1e4 && Math.hypot(...acceleration) < 1))
    return 'the elements are those of no navigation satellite';
  const referenceMs = utcMs + 1000 * gpsMinusUtcSeconds(utcMs);
  const channel = value(2, 3);
  return {
    satellite,
    fromMs: referenceMs - validMs['R']!,
    toMs: referenceMs + validMs['R']!,
    referenceMs,
    healthy: (value(1, 3) ?? 0) === 0,
    orbit: glonassOrbit({ timeMs: referenceMs, position, velocity, acceleration }),
    ...(channel === undefined ? {} : { channel }),
  };
}
