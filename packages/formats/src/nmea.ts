import {
  geodeticKind,
  radians,
  type CoordinateKind,
  type Ellipsoid,
  type Geocentric,
} from '@stillmark/geodesy';
import { fail, problem, warning, type Problem } from '@stillmark/problems';
import { dayMs, type EpochRow, type Symmetric3 } from '@stillmark/records';
import type { RejectedRow } from './csv.ts';
import { earliestMs, placeFault, uncertaintyFault } from './plausible.ts';
import type { PositionsFile } from './positions.ts';

export interface NmeaTask {
  readonly stream: string;
  /** Whose log it is, and about where it stands. */
  readonly station: string;
  readonly near: Geocentric;
  readonly ellipsoid: Ellipsoid;
  /** Qualities of GGA that are taken: 4 is a fixed solution of the carrier phase, 5 one that floats. */
  readonly qualities: readonly number[];
  readonly latestMs: number;
  /** A step of the last printed digit of a coordinate that is larger than this is of no use, metres. */
  readonly coarsest: number;
}

/** A sentence with its fields, the address first (talker and type). */
interface Sentence {
  readonly line: number;
  readonly text: string;
  readonly fields: readonly string[];
}

interface Fix {
  readonly sentence: Sentence;
  /** Milliseconds since midnight of UTC. */
  readonly ofDay: number;
  /** Days since 1970; unknown until a sentence has told the date. */
  day: number | undefined;
}

/**
 * Reads a log of NMEA 0183 sentences of one receiver: positions from GGA (height above the ellipsoid: altitude plus geoid separation), their
 * standard deviations from the GST of the same time, the day from RMC or ZDA, and on to the next where the time of day begins again.
 * Talkers of every constellation are taken. Latitude and longitude are as coarse as their last digit: the variance of that rounding
 * (step^2 / 12) is added. The error ellipse of GST is not used: its direction contradicts the deviations in sentences that
 * receivers print.
 *
 * Sentences with a wrong checksum are rejected; positions of another quality, and those without a GST, are told once each, with
 * their number. Other sentences are passed over.
 *
 * @throws INPUT_NOT_TEXT, INPUT_EMPTY, INPUT_TIME where the log as a whole cannot be used
 */
export function readNmea(bytes: Uint8Array, file: string, task: NmeaTask): PositionsFile {
  if (bytes.includes(0))
    fail('INPUT_NOT_TEXT', `byte ${bytes.indexOf(0) + 1} is NUL: this is no text file`, {
      at: { file },
      hint: 'a log of NMEA 0183 sentences, not compressed',
    });
  // One character a byte: what is looked for in bytes is found at the same place of the text.
  const log = new Log(file, task, bytes, new TextDecoder('latin1').decode(bytes));
  for (let from = 0, line = 1; from < bytes.length; line++) {
    const end = bytes.indexOf(lineFeed, from);
    log.take(from, end < 0 ? bytes.length : end, line, end < 0);
    if (end < 0) break;
    from = end + 1;
  }
  return log.result();
}

const [lineFeed, dollar, bang, asterisk, comma, blank] = [0x0a, 0x24, 0x21, 0x2a, 0x2c, 0x20] as const;

/** XOR of all characters from one place to before another. */
function checksumOf(bytes: Uint8Array, from: number, to: number): number {
  let sum = 0;
  for (let i = from; i < to; i++) sum ^= bytes[i]!;
  return sum;
}

/** The value of two hexadecimal digits; negative where they are none. */
function hexOf(high: number, low: number): number {
  const digit = (code: number): number => {
    if (code >= 0x30 && code <= 0x39) return code - 0x30;
    const letter = (code | 0x20) - 0x61;
    return letter >= 0 && letter < 6 ? letter + 10 : Number.NaN;
  };
  const value = 16 * digit(high) + digit(low);
  return Number.isNaN(value) ? -1 : value;
}

/** Sentences come late by less than this, milliseconds. */
const latest = 3_600_000;

class Log {
  readonly #file: string;
  readonly #task: NmeaTask;
  readonly #kind: CoordinateKind;
  readonly #bytes: Uint8Array;
  readonly #text: string;
  readonly #rejected: RejectedRow[] = [];
  readonly #fixes: Fix[] = [];
  /** Standard deviations of latitude, longitude and altitude, metres, by day and time of day. */
  readonly #deviations = new Map<number, readonly [number, number, number]>();
  #day: number | undefined;
  #lastOfDay = -1;
  #sentences = 0;

  constructor(file: string, task: NmeaTask, bytes: Uint8Array, text: string) {
    this.#file = file;
    this.#bytes = bytes;
    this.#text = text;
    this.#task = task;
    this.#kind = geodeticKind(task.ellipsoid);
  }

  /** The line from one place to before another. */
  take(from: number, to: number, line: number, last: boolean): void {
    const bytes = this.#bytes;
    let begin = from;
    while (begin < to && bytes[begin] !== dollar && bytes[begin] !== bang) begin++;
    if (begin === to) return;
    let end = to;
    while (end > begin && bytes[end - 1]! <= blank) end--;
    const star = end - 3;
    const told = star > begin && bytes[star] === asterisk ? hexOf(bytes[star + 1]!, bytes[star + 2]!) : -1;
    if (told < 0) {
      this.#reject(
        line,
        this.#text.slice(from, end),
        last ? 'INPUT_CUT' : 'INPUT_ROW',
        last ? 'the file ends in the middle of a sentence' : 'the sentence has no checksum',
        'such as $GPGGA,...*47',
      );
      return;
    }
    this.#sentences++;
    let field = begin;
    while (field < star && bytes[field] !== comma) field++;
    const type =
      field - begin < 4 ? '' : String.fromCharCode(bytes[field - 3]!, bytes[field - 2]!, bytes[field - 1]!);
    // Of what is not read nothing can be wrong.
    if (type !== 'GGA' && type !== 'GST' && type !== 'RMC' && type !== 'ZDA') return;
    const sum = checksumOf(bytes, begin + 1, star);
    const text = this.#text.slice(from, end);
    if (sum !== told) {
      const hex = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0');
      this.#reject(
        line,
        text,
        'INPUT_ROW',
        `the checksum is ${hex(told)}, of these characters it is ${hex(sum)}`,
        'the sentence as it was sent',
      );
      return;
    }
    const fields = this.#text.slice(begin + 1, star).split(',');
    const sentence = { line, text, fields };
    if (type === 'GGA') this.#position(sentence);
    else if (type === 'GST') this.#deviation(sentence);
    else if (type === 'RMC') this.#date(sentence, fields[1], /^(\d\d)(\d\d)(\d\d)$/.exec(fields[9] ?? ''));
    else if (type === 'ZDA')
      this.#date(sentence, fields[1], /^(\d\d) (\d\d) (\d{4})$/.exec(fields.slice(2, 5).join(' ')));
  }

  #position(sentence: Sentence): void {
    // Before a first fix the fields are empty: that is no fault.
    if ((sentence.fields[6] ?? '0') === '0') return;
    const ofDay = timeOfDay(sentence.fields[1]);
    if (ofDay === undefined) {
      this.#reject(
        sentence.line,
        sentence.text,
        'INPUT_TIME',
        `'${sentence.fields[1] ?? ''}' is not a time of the day`,
        'hhmmss.ss',
      );
      return;
    }
    this.#pass(ofDay);
    this.#fixes.push({ sentence, ofDay, day: this.#day });
  }

  /** A time of day before the last one is that of the next day; sentences that come late by less than an hour are not. */
  #pass(ofDay: number): void {
    if (this.#day !== undefined && ofDay < this.#lastOfDay - latest) this.#day++;
    this.#lastOfDay = ofDay;
  }

  #date(sentence: Sentence, time: string | undefined, match: RegExpExecArray | null): void {
    const ofDay = timeOfDay(time);
    if (ofDay === undefined || !match) return;
    const [d, m, y] = match.slice(1).map(Number) as [number, number, number];
    const year = y >= 100 ? y : y < 80 ? 2000 + y : 1900 + y;
    const ms = Date.UTC(year, m - 1, d);
    if (new Date(ms).getUTCDate() !== d || new Date(ms).getUTCMonth() !== m - 1) {
      this.#reject(
        sentence.line,
        sentence.text,
        'INPUT_TIME',
        'the date is not of the calendar',
        'the sentence as it was sent',
      );
      return;
    }
    const day = ms / dayMs;
    if (this.#day === undefined) {
      // What came before the first date is of the same day, or of the evening before.
      let later = ofDay;
      let own = day;
      for (const fix of this.#fixes.toReversed()) {
        if (fix.ofDay > later + latest) own--;
        fix.day = own;
        later = fix.ofDay;
      }
    } else if (this.#fixes.length > 0 && this.#fixes.at(-1)!.ofDay === ofDay) this.#fixes.at(-1)!.day = day;
    this.#day = day;
    this.#lastOfDay = ofDay;
  }

  #deviation({ fields, line, text }: Sentence): void {
    const ofDay = timeOfDay(fields[1]);
    const numbers = fields.slice(6, 9).map(decimal);
    // GST comes after the GGA of its time, or before: it is found again by that time near its place.
    if (ofDay === undefined || numbers.length < 3 || numbers.some((v) => v === undefined)) {
      if (fields.slice(6, 9).some((f) => f !== ''))
        this.#reject(
          line,
          text,
          'INPUT_NUMBER',
          'the standard deviations are no numbers',
          'three numbers in metres',
        );
      return;
    }
    this.#deviations.set(
      keyOf(this.#fixes.length, ofDay),
      numbers as unknown as readonly [number, number, number],
    );
  }

  result(): PositionsFile {
    const { qualities } = this.#task;
    if (this.#sentences === 0)
      return fail('INPUT_EMPTY', 'the file holds no sentence of NMEA 0183', {
        at: { file: this.#file },
        hint: '$GPGGA,...*47',
      });
    if (this.#fixes.length > 0 && this.#day === undefined)
      return fail('INPUT_TIME', 'no sentence tells the day', {
        at: { file: this.#file, line: this.#fixes[0]!.sentence.line },
        hint: 'RMC or ZDA among the sentences',
      });
    const rows: EpochRow[] = [];
    const others = new Map<string, { first: Sentence; count: number }>();
    const tally = (why: string, first: Sentence): void => {
      const known = others.get(why);
      if (known) known.count++;
      else others.set(why, { first, count: 1 });
    };
    this.#fixes.forEach((fix, i) => {
      const quality = Number(fix.sentence.fields[6]);
      if (!qualities.includes(quality)) {
        tally(`of quality ${fix.sentence.fields[6]!} (${qualityNames[quality] ?? 'unknown'})`, fix.sentence);
        return;
      }
      const deviations =
        this.#deviations.get(keyOf(i + 1, fix.ofDay)) ?? this.#deviations.get(keyOf(i, fix.ofDay));
      if (!deviations) {
        tally('without a GST of the same time', fix.sentence);
        return;
      }
      const row = this.#row(fix, deviations);
      if (row) rows.push(row);
    });
    for (const [why, { first, count }] of others) {
      const one = count === 1;
      this.#rejected.push({
        problem: warning(
          'INPUT_ROW',
          `${count} position${one ? '' : 's'} ${why} ${one ? 'is' : 'are'} passed over, the first here`,
          {
            at: { file: this.#file, line: first.line, column: 1 },
            sourceLine: first.text.slice(0, 120),
            hint: `quality ${qualities.join(' or ')} with standard deviations in GST`,
          },
        ),
        line: first.line,
        text: first.text,
      });
    }
    return { rows, rejected: this.#rejected };
  }

  #row(
    { sentence, ofDay, day }: Fix,
    [north, east, up]: readonly [number, number, number],
  ): EpochRow | undefined {
    const { fields, line, text } = sentence;
    const [task, kind] = [this.#task, this.#kind];
    const no = (code: Problem['code'], message: string, hint: string): undefined => {
      this.#reject(line, text, code, message, hint);
      return undefined;
    };
    const latitude = angle(fields[2], fields[3], 2, 'NS');
    const longitude = angle(fields[4], fields[5], 3, 'EW');
    const [altitude, separation] = [decimal(fields[9]), decimal(fields[11])];
    if (
      !latitude ||
      !longitude ||
      altitude === undefined ||
      separation === undefined ||
      fields[10] !== 'M' ||
      fields[12] !== 'M'
    )
      return no(
        'INPUT_NUMBER',
        'the sentence gives no whole position',
        'latitude, longitude, altitude and geoid separation in M',
      );
    const steps = [
      latitude.stepMinutes * 1852,
      longitude.stepMinutes * 1852 * Math.cos(radians(latitude.degrees)),
      Math.max(stepOf(fields[9]!), stepOf(fields[11]!)),
    ] as const;
    const coarse = Math.max(...steps);
    if (coarse > task.coarsest)
      return no(
        'INPUT_NUMBER',
        `the last digit of the position is a step of ${Number((1000 * coarse).toPrecision(2))} mm`,
        `steps of at most ${1000 * task.coarsest} mm: more decimals in the output of the receiver`,
      );
    const at = kind.toGeocentric([
      radians(latitude.degrees),
      radians(longitude.degrees),
      altitude + separation,
    ]);
    const elsewhere = placeFault(at, task.near, task.station);
    if (elsewhere !== undefined) return no('INPUT_POSITION', elsewhere, 'the log of the right station');
    const variance = (deviation: number, step: number): number => deviation ** 2 + step ** 2 / 12;
    const own: Symmetric3 = [
      variance(east, steps[1]),
      0,
      0,
      variance(north, steps[0]),
      0,
      variance(up, steps[2]),
    ];
    const fault = Math.min(north, east, up) <= 0 ? 'a standard deviation is zero' : uncertaintyFault(own);
    if (fault !== undefined)
      return no(
        'INPUT_COVARIANCE',
        `the standard deviations are not usable: ${fault}`,
        'those of GST, in metres',
      );
    const timeMs = day! * dayMs + ofDay;
    if (timeMs > task.latestMs)
      return no('INPUT_TIME', 'the time lies in the future', 'a time that has passed');
    if (timeMs <= earliestMs)
      return no('INPUT_TIME', 'the time lies before the first satellite', 'the right date in RMC or ZDA');
    return {
      stream: task.stream,
      station: task.station,
      timeMs,
      ...at,
      covariance: kind.toGeocentricCovariance(own, at),
    };
  }

  #reject(line: number, text: string, code: Problem['code'], message: string, hint: string): void {
    this.#rejected.push({
      problem: problem(code, message, {
        at: { file: this.#file, line, column: 1 },
        sourceLine: text.slice(0, 120),
        hint,
      }),
      line,
      text,
    });
  }
}

const qualityNames: Readonly<Record<number, string>> = {
  1: 'single',
  2: 'differential',
  3: 'precise service',
  4: 'fixed',
  5: 'float',
  6: 'estimated',
  7: 'manual',
  8: 'simulated',
};

/** By the number of the fix and the time of day, which comes again each day. */
const keyOf = (fix: number, ofDay: number): number => fix * dayMs + ofDay;

function timeOfDay(text: string | undefined): number | undefined {
  if (text === undefined || !/^\d{6}(?:\.\d*)?$/.test(text)) return undefined;
  const two = (from: number): number => 10 * (text.charCodeAt(from) - 48) + text.charCodeAt(from + 1) - 48;
  const [h, m, s] = [two(0), two(2), two(4)];
  if (h > 23 || m > 59 || s > 59) return undefined;
  return (
    (3600 * h + 60 * m + s) * 1000 + (text.length > 6 ? Math.round(1000 * Number(`0${text.slice(6)}`)) : 0)
  );
}

function decimal(text: string | undefined): number | undefined {
  return text !== undefined && /^-?\d+(\.\d+)?$/.test(text) ? Number(text) : undefined;
}

/** The step of the last digit that is printed. */
function stepOf(text: string): number {
  const point = text.indexOf('.');
  return point < 0 ? 1 : 10 ** (point + 1 - text.length);
}

const latitudeForm = /^\d{4}(?:\.\d+)?$/;
const longitudeForm = /^\d{5}(?:\.\d+)?$/;

/** `ddmm.mmmm` with its side, degrees. */
function angle(
  text: string | undefined,
  side: string | undefined,
  digits: number,
  sides: string,
): { degrees: number; stepMinutes: number } | undefined {
  if (text === undefined || side === undefined || side.length !== 1 || !sides.includes(side))
    return undefined;
  if (!(digits === 2 ? latitudeForm : longitudeForm).test(text)) return undefined;
  const [whole, minutes] = [Number(text.slice(0, digits)), Number(text.slice(digits))];
  if (minutes >= 60 || whole > (digits === 2 ? 90 : 180)) return undefined;
  const degrees = whole + minutes / 60;
  return { degrees: side === sides[1] ? -degrees : degrees, stepMinutes: stepOf(text) };
}
