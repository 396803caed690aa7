import {
  geodeticKind,
  radians,
  type CoordinateKind,
  type Ellipsoid,
  type Geocentric,
} from '@stillmark/geodesy';
import { fail, warning, type Problem } from '@stillmark/problems';
import { dayMs, type EpochRow, type Symmetric3 } from '@stillmark/records';
import type { RejectedRow } from '../csv.ts';
import { earliestMs, placeFault, uncertaintyFault } from '../plausible.ts';
import type { PositionsFile } from '../positions.ts';
import { dateOf, DayCounter, latest, timeOfDay, type ToldDate } from './clock.ts';
import { Sentences, type Sentence } from './sentences.ts';

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

interface Fix {
  readonly sentence: Sentence;
  /** Milliseconds since midnight of UTC. */
  readonly ofDay: number;
  /** Days since 1970; unknown until a sentence has told the date. */
  day: number | undefined;
  /** Standard deviations of the same time, before or after it. */
  deviations: Deviations | undefined;
}

/** Standard deviations of latitude, longitude and altitude, metres. */
type Deviations = readonly [number, number, number];

/**
 * Reads a log of NMEA 0183 sentences of one receiver as it comes in pieces: positions from GGA (height above the ellipsoid: altitude plus
 * geoid separation), their standard deviations from the GST of the same time, the day from RMC or ZDA, and on to the next where the time
 * of day begins again. Talkers of every constellation are taken. Latitude and longitude are as coarse as their last digit: the variance of
 * that rounding (step^2 / 12) is added. The error ellipse of GST is not used: its direction contradicts the deviations in sentences that
 * receivers print.
 *
 * Sentences with a wrong checksum are rejected; positions of another quality, and those without a GST, are told once each, with
 * their number. Other sentences are passed over.
 */
export class NmeaPositions {
  readonly #file: string;
  readonly #task: NmeaTask;
  readonly #kind: CoordinateKind;
  readonly #sentences: Sentences;
  readonly #clock = new DayCounter();
  readonly #onRow: (row: EpochRow) => void;
  /** Positions whose day or deviations are still to come, in their order. */
  #open: Fix[] = [];

  #told = false;
  /** Deviations of the newest times of day. */
  readonly #early = new Map<number, Deviations>();
  readonly #others = new Map<string, { first: Sentence; count: number }>();

  constructor(file: string, task: NmeaTask, onRow: (row: EpochRow) => void) {
    this.#file = file;
    this.#task = task;
    this.#kind = geodeticKind(task.ellipsoid);
    this.#onRow = onRow;
    this.#sentences = new Sentences(file, ['GGA', 'GST', 'RMC', 'ZDA'], (sentence) => {
      if (sentence.type === 'GGA') this.#position(sentence);
      else if (sentence.type === 'GST') this.#deviation(sentence);
      else this.#date(sentence);
    });
  }

  get rejected(): RejectedRow[] {
    return this.#sentences.rejected;
  }

  /** @throws INPUT_NOT_TEXT where the log is no text */
  take(chunk: Uint8Array): void {
    this.#sentences.take(chunk);
  }

  /** @throws INPUT_EMPTY, INPUT_TIME where the log as a whole cannot be used */
  end(): void {
    this.#sentences.end('$GPGGA,...*47');
    if (!this.#told && this.rejected.length === 0)
      fail('INPUT_EMPTY', 'the log tells no position: it has no GGA with one', {
        at: { file: this.#file },
        hint: 'GGA and GST in the output of the receiver',
      });
    if (this.#open.length > 0 && this.#clock.day === undefined)
      fail('INPUT_TIME', 'no sentence tells the day', {
        at: { file: this.#file, line: this.#open[0]!.sentence.line },
        hint: 'RMC or ZDA among the sentences',
      });
    this.#settle(0);
    for (const [why, { first, count }] of this.#others) {
      const one = count === 1;
      this.rejected.push({
        problem: warning(
          'INPUT_ROW',
          `${count} position${one ? '' : 's'} ${why} ${one ? 'is' : 'are'} passed over, the first here`,
          {
            at: { file: this.#file, line: first.line, column: 1 },
            sourceLine: first.text.slice(0, 120),
            hint: `quality ${this.#task.qualities.join(' or ')} with standard deviations in GST`,
          },
        ),
        line: first.line,
        text: first.text,
      });
    }
  }

  #position(sentence: Sentence): void {
    // Before a first fix the fields are empty: that is no fault.
    if ((sentence.fields[6] ?? '0') === '0') return;
    const ofDay = timeOfDay(sentence.fields[1]);
    if (ofDay === undefined) {
      this.#reject(
        sentence,
        'INPUT_TIME',
        `'${sentence.fields[1] ?? ''}' is not a time of the day`,
        'hhmmss.ss',
      );
      return;
    }
    this.#told = true;
    this.#clock.pass(ofDay);

    this.#open.push({ sentence, ofDay, day: this.#clock.day, deviations: this.#early.get(ofDay) });
    // Where the power was off for days only the next date says so: positions wait for it, but not for ever.
    if (this.#clock.day !== undefined) {
      if (this.#open.length > mostOpen) this.#settle(mostOpen / 2);
    } else if (this.#open.length > mostWithoutDay)
      fail('INPUT_TIME', 'no sentence tells the day', {
        at: { file: this.#file, line: this.#open[0]!.sentence.line },
        hint: 'RMC or ZDA among the sentences',
      });
  }

  #date(sentence: Sentence): void {
    const date = dateOf(sentence);
    if (date === undefined) return;
    if (date === 'none') {
      this.#reject(sentence, 'INPUT_TIME', 'the date is not of the calendar', 'the sentence as it was sent');
      return;
    }
    if (this.#clock.day === undefined) this.#dateBack(date, 0);
    else if (date.day !== this.#clock.dayAt(date.ofDay)) this.#dateBack(date, this.#afterGap());
    this.#clock.set(date);
    // The deviations of the newest two may still come.
    this.#settle(2);
  }

  /** Where the longest time passed between two positions that wait for their date. */
  #afterGap(): number {
    let [index, longest] = [0, 0];
    for (let i = 1; i < this.#open.length; i++) {
      const passed = (this.#open[i]!.ofDay - this.#open[i - 1]!.ofDay + dayMs) % dayMs;
      if (passed > longest) [index, longest] = [i, passed];
    }
    return index;
  }

  /** Positions from one on, before a date, are of the same day, or of the evening before. */
  #dateBack({ day, ofDay }: ToldDate, from: number): void {
    let [later, own] = [ofDay, day];
    for (const fix of this.#open.slice(from).toReversed()) {
      if (fix.ofDay > later + latest) own--;
      fix.day = own;
      later = fix.ofDay;
    }
  }

  #deviation(sentence: Sentence): void {
    const { fields } = sentence;
    const ofDay = timeOfDay(fields[1]);
    const numbers = fields.slice(6, 9).map(decimal);
    if (ofDay === undefined || numbers.length < 3 || numbers.some((v) => v === undefined)) {
      if (fields.slice(6, 9).some((f) => f !== ''))
        this.#reject(
          sentence,
          'INPUT_NUMBER',
          'the standard deviations are no numbers',
          'three numbers in metres',
        );
      return;
    }
    const deviations = numbers as unknown as Deviations;
    for (const fix of this.#open.slice(-3)) if (fix.ofDay === ofDay) fix.deviations = deviations;
    // It may come before its position.
    this.#early.delete(ofDay);
    this.#early.set(ofDay, deviations);
    while (this.#early.size > 3) this.#early.delete(this.#early.keys().next().value!);
  }

  /** Hands over all positions but the newest. */
  #settle(keep: number): void {
    while (this.#open.length > keep) {
      const fix = this.#open.shift()!;
      const quality = Number(fix.sentence.fields[6]);
      const { deviations } = fix;
      if (!this.#task.qualities.includes(quality))
        this.#passOver(
          `of quality ${fix.sentence.fields[6]!} (${qualityNames[quality] ?? 'unknown'})`,
          fix.sentence,
        );
      else if (!deviations) this.#passOver('without a GST of the same time', fix.sentence);
      else {
        const row = this.#row(fix, deviations);
        if (row) this.#onRow(row);
      }
    }
  }

  #passOver(why: string, first: Sentence): void {
    const known = this.#others.get(why);
    if (known) known.count++;
    else this.#others.set(why, { first, count: 1 });
  }

  #row(
    { sentence, ofDay, day }: Fix,
    [north, east, up]: readonly [number, number, number],
  ): EpochRow | undefined {
    const { fields } = sentence;
    const [task, kind] = [this.#task, this.#kind];
    const no = (code: Problem['code'], message: string, hint: string): undefined => {
      this.#reject(sentence, code, message, hint);
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

  #reject({ line, text }: Sentence, code: Problem['code'], message: string, hint: string): void {
    this.#sentences.reject(line, text, code, message, hint);
  }
}

/** Positions that may wait for the next date: two hours of one a second. */
const mostOpen = 7200;

/** Positions that may come before the first date: a receiver tells it every few seconds. */
const mostWithoutDay = 100_000;

/** A log that is there as a whole: see {@link NmeaPositions}. */
export function readNmea(bytes: Uint8Array, file: string, task: NmeaTask): PositionsFile {
  const rows: EpochRow[] = [];
  const reader = new NmeaPositions(file, task, (row) => rows.push(row));
  reader.take(bytes);
  reader.end();
  return { rows, rejected: reader.rejected };
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
