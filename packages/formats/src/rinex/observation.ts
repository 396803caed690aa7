import { fail, problem, type Problem } from '@stillmark/problems';
import {
  gpsToUtc,
  type ObservationEpoch,
  type ObservationHead,
  type SatelliteObservation,
} from '@stillmark/records';
import type { RejectedRow } from '../csv.ts';
import { LineSplitter } from '../lines.ts';
import { calendarMs, fixed, headerRecord, rinexKind, satelliteName, type RinexKind } from './header.ts';
import { bandLayout, signalLayout, signalsFrom, type Layout, type Values } from './signals.ts';

/** Milliseconds by which the time of a file is ahead of GPS time; of GLONASS files it is UTC, and marked so. */
const aheadOfGps: Readonly<Record<string, number | 'UTC'>> = {
  GPS: 0,
  GAL: 0,
  QZS: 0,
  IRN: 0,
  BDT: -14_000,
  GLO: 'UTC',
  UTC: 'UTC',
};

/** Time of a file that does not name it, by its constellation (RINEX 3.05, table A2). */
const timeOfSystem: Readonly<Record<string, string>> = { R: 'GLO', E: 'GAL', C: 'BDT', J: 'QZS', I: 'IRN' };

interface Listener {
  readonly head: (head: ObservationHead) => void;
  readonly epoch: (epoch: ObservationEpoch) => void;
}

/** What of an epoch has been read. */
interface OpenEpoch {
  readonly timeMs: number;
  readonly line: number;
  readonly powerFailed: boolean;
  readonly satellites: SatelliteObservation[];
  /** Satellites in the order of their records; of RINEX 2 they stand in the line of the epoch. */
  readonly names: string[];
  /** Number of satellites, or of records that are passed over. */
  readonly count: number;
  /** Values of the satellite whose record goes over several lines. */
  values: Values;
}

type State =
  | { readonly in: 'head' }
  | { readonly in: 'between' }
  | { readonly in: 'names'; readonly epoch: OpenEpoch; readonly slips: boolean }
  | { readonly in: 'satellites'; readonly epoch: OpenEpoch }
  | { readonly in: 'special'; left: number; readonly flag: number }
  | { readonly in: 'over' }
  | { readonly in: 'lost' };

/**
 * Reads RINEX observation files (2.10 to 2.12, 3.00 to 3.05, 4.00 to 4.02) as they come in pieces: epochs of code, phase and signal strength.
 * What quality does not need (Doppler, clock offsets, phase shifts) is passed over. Events are obeyed: records of flag 2, 3 and 5 are
 * passed over, those of flag 4 may change the list of observations, those of flag 6 repeat slips that the receiver has mended.
 * A record that cannot be read is rejected with its epoch, and the next epoch is looked for.
 */
export class RinexObservations {
  readonly #file: string;
  readonly #listener: Listener;
  readonly #lines: LineSplitter;
  readonly rejected: RejectedRow[] = [];
  #kind: RinexKind | undefined;
  #state: State = { in: 'head' };
  #marker = '';
  #position: ObservationHead['position'];
  #intervalMs: number | undefined;
  #timeSystem = '';
  #strengthsAreRatios = true;
  readonly #channels = new Map<string, number>();
  readonly #layouts = new Map<string, Layout>();
  /** Types of the list that is being read, which may go over several lines. */
  #open: { readonly system: string; readonly types: string[]; readonly count: number } | undefined;
  #lastMs = Number.NEGATIVE_INFINITY;

  constructor(file: string, listener: Listener) {
    this.#file = file;
    this.#listener = listener;
    this.#lines = new LineSplitter(file, (text, line, ended) => this.#line(text, line, ended));
  }

  take(chunk: Uint8Array): void {
    this.#lines.take(chunk);
  }

  /** @throws INPUT_EMPTY, INPUT_CUT where the file ends before its first epoch */
  end(): void {
    this.#lines.end();
    if (!this.#kind) fail('INPUT_EMPTY', 'the file is empty', { at: { file: this.#file } });
    if (this.#state.in === 'head')
      fail('INPUT_CUT', 'the file ends in its head', {
        at: { file: this.#file },
        hint: 'END OF HEADER, and epochs',
      });
    this.#completeLast();
    if (this.#state.in === 'satellites' || this.#state.in === 'names')
      this.#reject(
        this.#state.epoch.line,
        '',
        'INPUT_CUT',
        'the file ends in the middle of an epoch',
        'the file delivered again, whole',
      );
  }

  /** Of RINEX 2 the last lines of the last satellite may be blank, and left out. */
  #completeLast(): void {
    const state = this.#state;
    if (state.in !== 'satellites' || this.#kind!.version >= 3) return;
    const { epoch } = state;
    const layout = this.#layouts.get(' ')!;
    if (epoch.satellites.length !== epoch.count - 1 || epoch.values.length === 0) return;
    while (epoch.values.length < layout.fields) epoch.values.push({ value: undefined, lost: false });
    this.#add(epoch, epoch.names.at(-1)!, layout);
  }

  #line(text: string, line: number, ended: boolean): void {
    if (line === 1) {
      this.#kind = rinexKind(text, this.#file);
      if (this.#kind.type !== 'O')
        fail('INPUT_ROW', 'the file holds no observations', {
          at: { file: this.#file, line: 1, column: 21 },
          sourceLine: text.slice(0, 80),
          hint: 'O in column 21',
        });
      return;
    }
    const state = this.#state;
    if (state.in === 'head') this.#headLine(text, line);
    else if (state.in === 'special') {
      this.#special(text, line, state);
    } else if (state.in === 'between') {
      if (text.trim() !== '') this.#epochLine(text, line);
    } else if (state.in === 'lost') this.#find(text, line);
    else if (state.in === 'names') this.#names(text, line, state);
    else if (state.in === 'over') return;
    else if (!ended) this.#cut(line, text);
    else if (this.#kind!.version < 3) this.#observations2(text, line, state.epoch);
    else this.#observations3(text, line, state.epoch);
  }

  /** A last line without its end may be cut in a number. */
  #cut(line: number, text: string): void {
    this.#reject(
      line,
      text,
      'INPUT_CUT',
      'the file ends in the middle of an epoch',
      'the file delivered again, whole, with a line end behind its last line',
    );
    this.#state = { in: 'over' };
  }

  /** Records that stand between epochs: new types of observations, a new site, comments, slips that are mended. */
  #special(text: string, line: number, state: State & { in: 'special' }): void {
    const { text: content, label } = headerRecord(text);
    const marker = content.trim();
    if (state.flag === 3 && label === 'MARKER NAME' && marker !== this.#marker) {
      this.#reject(
        line,
        text,
        'INPUT_STATION',
        `the receiver goes on at ${marker}: what follows is left out`,
        'a file for each station',
      );
      this.#state = { in: 'over' };
      return;
    }
    if (state.flag === 4) this.#record(text, line);
    if (--state.left === 0) this.#state = { in: 'between' };
  }

  #headLine(text: string, line: number): void {
    if (headerRecord(text).label !== 'END OF HEADER') {
      this.#record(text, line);
      return;
    }
    if (this.#layouts.size === 0)
      fail('INPUT_ROW', 'the head lists no types of observations', {
        at: { file: this.#file, line },
        hint: this.#kind!.version < 3 ? '# / TYPES OF OBSERV' : 'SYS / # / OBS TYPES',
      });
    this.#state = { in: 'between' };
    this.#listener.head({
      marker: this.#marker,
      channels: this.#channels,
      ...(this.#position ? { position: this.#position } : {}),
      ...(this.#intervalMs === undefined ? {} : { intervalMs: this.#intervalMs }),
    });
  }

  #record(line: string, number: number): void {
    const { text, label } = headerRecord(line);
    const value = (from: number, width: number): number | undefined => fixed(text, from, width);
    switch (label) {
      case 'MARKER NAME':
        this.#marker = text.trim();
        break;
      case 'APPROX POSITION XYZ': {
        const [x, y, z] = [value(0, 14), value(14, 14), value(28, 14)];
        if (x !== undefined && y !== undefined && z !== undefined && Math.hypot(x, y, z) > 1)
          this.#position = { x, y, z };
        break;
      }
      case 'INTERVAL': {
        const seconds = value(0, 10);
        if (seconds !== undefined && seconds > 0) this.#intervalMs = Math.round(seconds * 1000);
        break;
      }
      case 'TIME OF FIRST OBS':
        this.#timeSystem = text.slice(48, 51).trim().toUpperCase();
        if (this.#timeSystem !== '' && !(this.#timeSystem in aheadOfGps))
          fail('INPUT_TIME', `the time system '${this.#timeSystem}' is not known`, {
            at: { file: this.#file, line: number, column: 49 },
            sourceLine: line.slice(0, 80),
            allowed: Object.keys(aheadOfGps),
          });
        break;
      case 'SYS / SCALE FACTOR':
        this.#scale(text[0]!, value(2, 4), value(8, 2) ?? 0, text.slice(10).trim());
        break;
      case 'SIGNAL STRENGTH UNIT':
        this.#strengthsAreRatios = text.trim().toUpperCase() === 'DBHZ';
        break;
      case 'GLONASS SLOT / FRQ #':
        for (const [, satellite, channel] of text.slice(4).matchAll(/(R[ \d]\d) ([ +-]?\d+)/g))
          this.#channels.set(satelliteName(satellite!) ?? satellite!, Number(channel));
        break;
      case 'SYS / # / OBS TYPES':
        this.#types(text[0]!, value(3, 3), text.slice(7).trim(), number, line);
        break;
      case '# / TYPES OF OBSERV':
        this.#types(' ', value(0, 6), text.slice(6).trim(), number, line);
        break;
      default:
    }
  }

  /** Stored values are so many times the observed ones: of the types that are listed, or of all. */
  #scale(system: string, factor: number | undefined, count: number, listed: string): void {
    const layout = this.#layouts.get(system);
    if (!layout || factor === undefined || !(factor > 0)) return;
    const types = new Set(listed.split(/\s+/));
    layout.types.forEach((type, i) => {
      if (count === 0 || types.has(type)) layout.factors[i] = factor;
    });
  }

  /** Types of observations in the order of their fields; a list goes on where no number stands before it. */
  #types(system: string, count: number | undefined, listed: string, line: number, source: string): void {
    const types = listed === '' ? [] : listed.split(/\s+/);
    if (count !== undefined) this.#open = { system, types: [], count };
    const open = this.#open;
    const named = this.#kind!.version < 3 ? /^[A-Z][A-Z\d]$/ : /^[A-Z]\d[A-Z ]?$/;
    if (!open || types.some((type) => !named.test(type)) || open.types.length + types.length > open.count)
      return fail('INPUT_ROW', 'the list of types of observations cannot be read', {
        at: { file: this.#file, line, column: 1 },
        sourceLine: source.slice(0, 80),
        hint: this.#kind!.version < 3 ? '     4    C1    L1    S1    L2' : 'G    4 C1C L1C S1C L2W',
      });
    open.types.push(...types);
    if (open.types.length === open.count)
      this.#layouts.set(
        open.system,
        this.#kind!.version < 3
          ? bandLayout(open.types)
          : signalLayout(open.types, open.system, this.#kind!.version),
      );
  }

  #epochLine(text: string, line: number): void {
    const late = this.#kind!.version >= 3;
    if (late && text[0] !== '>') {
      this.#lose(line, text, 'no epoch begins here');
      return;
    }
    const whole = (from: number, width: number): number | undefined => {
      const value = fixed(text, from, width);
      return value !== undefined && Number.isInteger(value) ? value : undefined;
    };
    const flag = late ? whole(31, 1) : whole(28, 1);
    const count = late ? whole(32, 3) : whole(29, 3);
    if (flag === undefined || flag > 6 || count === undefined || count < 0) {
      this.#lose(line, text, 'the line of the epoch has no flag, or no number of satellites');
      return;
    }
    if (flag >= 2 && flag <= 5) {
      // Such records may have no time of their own.
      this.#state = count === 0 ? { in: 'between' } : { in: 'special', left: count, flag };
      return;
    }
    const second = late ? fixed(text, 18, 11) : fixed(text, 15, 11);
    const gpsMs = late
      ? calendarMs(whole(2, 4), whole(7, 2), whole(10, 2), whole(13, 2), whole(16, 2), second)
      : calendarMs(whole(1, 2), whole(4, 2), whole(7, 2), whole(10, 2), whole(13, 2), second);
    if (gpsMs === undefined) {
      this.#lose(line, text, 'the time of the epoch is not of the calendar');
      return;
    }
    const epoch: OpenEpoch = {
      timeMs: this.#toUtc(gpsMs),
      line,
      powerFailed: flag === 1,
      satellites: [],
      names: [],
      count,
      values: [],
    };
    if (late) {
      if (flag === 6) this.#state = count === 0 ? { in: 'between' } : { in: 'special', left: count, flag };
      else if (count === 0) this.#done(epoch);
      else this.#state = { in: 'satellites', epoch };
    } else this.#names(text, line, { in: 'names', epoch, slips: flag === 6 });
  }

  /** Satellites of an epoch of RINEX 2, twelve a line. */
  #names(text: string, line: number, state: State & { in: 'names' }): void {
    const { epoch, slips } = state;
    const room = Math.min(12, epoch.count - epoch.names.length);
    for (let i = 0; i < room; i++) {
      const field = text.slice(32 + 3 * i, 35 + 3 * i).padEnd(3);
      const name = satelliteName(field);
      if (name === undefined) {
        this.#lose(line, text, `'${field}' is no satellite`, 33 + 3 * i);
        return;
      }
      epoch.names.push(name);
    }
    if (epoch.names.length < epoch.count) this.#state = state;
    else if (epoch.count === 0) this.#done(epoch);
    else if (slips) this.#state = { in: 'special', left: epoch.count * this.#linesEach(), flag: 6 };
    else this.#state = { in: 'satellites', epoch };
  }

  #linesEach(): number {
    return Math.max(1, Math.ceil((this.#layouts.get(' ')?.fields ?? 1) / 5));
  }

  #observations2(text: string, line: number, epoch: OpenEpoch): void {
    const layout = this.#layouts.get(' ')!;
    const last = Math.min(5, layout.fields - epoch.values.length);
    if (!this.#fields(text, line, 0, last, epoch.values, layout)) return;
    if (epoch.values.length < layout.fields) return;
    const satellite = epoch.names[epoch.satellites.length]!;
    this.#add(epoch, satellite, layout);
  }

  #observations3(text: string, line: number, epoch: OpenEpoch): void {
    const satellite = satelliteName(text.slice(0, 3).padEnd(3));
    if (satellite === undefined || text[0] === ' ') {
      this.#lose(line, text, `'${text.slice(0, 3)}' is no satellite`);
      return;
    }
    const layout = this.#layouts.get(satellite[0]!);
    if (!layout) {
      this.#lose(line, text, `the head lists no types of observations of ${satellite[0]!}`);
      return;
    }
    if (this.#fields(text, line, 3, layout.fields, epoch.values, layout)) this.#add(epoch, satellite, layout);
  }

  /** Reads fields of 14 digits with their two marks; false where one is no number. */
  #fields(
    text: string,
    line: number,
    from: number,
    count: number,
    values: Values,
    { factors }: Layout,
  ): boolean {
    for (let i = 0; i < count; i++) {
      const at = from + 16 * i;
      const field = text.slice(at, at + 14);
      const blank = field.trim() === '';
      const value = blank ? undefined : Number(field) / factors[values.length]!;
      if (value !== undefined && !Number.isFinite(value)) {
        this.#lose(line, text, `'${field.trim()}' is not a number`, at + 1);
        return false;
      }
      // Bit 0 of the first mark: lost lock since the last epoch.
      values.push({ value: value === 0 ? undefined : value, lost: (Number(text[at + 14] ?? 0) & 1) === 1 });
    }
    return true;
  }

  #add(epoch: OpenEpoch, satellite: string, layout: Layout): void {
    const signals = signalsFrom(layout, epoch.values, this.#strengthsAreRatios);
    epoch.values = [];
    epoch.satellites.push({ satellite, signals });
    if (epoch.satellites.length === epoch.count) this.#done(epoch);
  }

  #done({ timeMs, powerFailed, satellites, line }: OpenEpoch): void {
    this.#state = { in: 'between' };
    if (timeMs <= this.#lastMs) {
      this.#reject(
        line,
        '',
        'INPUT_TIME',
        'the time of the epoch is not after that before it',
        'epochs in order of time',
      );
      return;
    }
    this.#lastMs = timeMs;
    this.#listener.epoch({ timeMs, powerFailed, satellites });
  }

  #toUtc(ms: number): number {
    const system = this.#timeSystem || timeOfSystem[this.#kind!.system] || 'GPS';
    const ahead = aheadOfGps[system] ?? 0;
    return ahead === 'UTC' ? ms : gpsToUtc(ms - ahead);
  }

  /** Rejects a record; from here on the next epoch is looked for. */
  #lose(line: number, text: string, message: string, column = 1): void {
    this.#reject(line, text, 'INPUT_ROW', message, 'the file as the receiver wrote it', column);
    this.#state = { in: 'lost' };
  }

  #find(text: string, line: number): void {
    const begins =
      this.#kind!.version < 3
        ? /^ [ \d]\d [ \d]\d [ \d]\d [ \d]\d [ \d]\d[ \d]{2}\d\.\d{7}  [0-6][ \d]{2}\d/.test(text)
        : text.startsWith('> ');
    if (begins) this.#epochLine(text, line);
  }

  #reject(
    line: number,
    text: string,
    code: Problem['code'],
    message: string,
    hint: string,
    column = 1,
  ): void {
    this.rejected.push({
      problem: problem(code, message, {
        at: { file: this.#file, line, column },
        hint,
        ...(text === '' ? {} : { sourceLine: text.slice(0, 120) }),
      }),
      line,
      text,
    });
  }
}
