import { fail, warning } from '@stillmark/problems';
import { dayMs, type SatelliteInView, type SkyEpoch } from '@stillmark/records';
import type { RejectedRow } from '../csv.ts';
import { earliestMs } from '../plausible.ts';
import { dateOf, DayCounter, timeOfDay } from './clock.ts';
import { Sentences, type Sentence } from './sentences.ts';

/** Letters of constellations by talker. */
const systemOfTalker: Readonly<Record<string, string>> = {
  GP: 'G',
  GL: 'R',
  GA: 'E',
  GB: 'C',
  BD: 'C',
  GQ: 'J',
  QZ: 'J',
  GI: 'I',
};

/** Signals by constellation and the number that NMEA 0183 (4.11, table of signals; from memory) gives them, as RINEX names them. */
const signalNames: Readonly<Record<string, Readonly<Record<string, string>>>> = {
  G: { 1: '1C', 2: '1W', 3: '1M', 4: '2W', 5: '2S', 6: '2L', 7: '5I', 8: '5Q' },
  R: { 1: '1C', 2: '1P', 3: '2C', 4: '2P' },
  E: { 1: '5X', 2: '7X', 3: '8X', 4: '6A', 5: '6X', 6: '1A', 7: '1X' },
  C: { 1: '2I', 2: '2Q', 3: '1X', 4: '1A', 5: '5X', 6: '7D', 7: '8X', 8: '6I', 9: '6Q', A: '6A', B: '7I', C: '7Q' },
  J: { 1: '1C', 2: '1S', 3: '1L', 4: '1Z', 5: '2S', 6: '2L', 7: '5I', 8: '5Q' },
  I: { 1: '5A', 2: '9A' },
}; // prettier-ignore

/**
 * What a receiver tells of its sky in a log of NMEA 0183 that comes in pieces: satellites in view with elevation and signal strength
 * (GSV), dilution of precision (GSA), quality of the position (GGA), joined by the times of GGA, RMC, GST and ZDA among which they stand.
 */
export class NmeaSky {
  readonly #file: string;
  readonly #sentences: Sentences;
  readonly #clock = new DayCounter();
  readonly #onEpoch: (epoch: SkyEpoch) => void;
  /** Time of the day of the sentences that come in. */
  #ofDay: number | undefined;
  #quality: number | undefined;
  #pdop: number | undefined;
  #satellites: SatelliteInView[] = [];
  #lastMs = Number.NEGATIVE_INFINITY;
  #told = 0;
  readonly #latestMs: number;
  /** Epochs whose time cannot be, or lies before that of the one before. */
  #outside = 0;

  /** @param latestMs no epoch can be later than this, milliseconds of UTC */
  constructor(file: string, latestMs: number, onEpoch: (epoch: SkyEpoch) => void) {
    this.#file = file;
    this.#latestMs = latestMs;
    this.#onEpoch = onEpoch;
    this.#sentences = new Sentences(file, ['GGA', 'GSA', 'GSV', 'RMC', 'GST', 'ZDA'], (s) =>
      this.#sentence(s),
    );
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
    this.#sentences.end('$GPGSV,...*47');
    this.#close();
    if (this.#outside > 0)
      this.rejected.push({
        problem: warning(
          'INPUT_TIME',
          `${this.#outside} time${this.#outside === 1 ? '' : 's'} in the log ${this.#outside === 1 ? 'lies' : 'lie'} in the future, before the first satellite, or before what came before, and ${this.#outside === 1 ? 'is' : 'are'} passed over`,
          { at: { file: this.#file }, hint: 'the log of one receiver, in the order in which it was written' },
        ),
        line: 1,
        text: '',
      });
    if (this.#told === 0)
      fail('INPUT_TIME', 'no sentence tells the day', {
        at: { file: this.#file },
        hint: 'RMC or ZDA among the sentences',
      });
  }

  #sentence(sentence: Sentence): void {
    const { type, fields } = sentence;
    if (type === 'GSV') this.#inView(sentence);
    else if (type === 'GSA') {
      const pdop = Number(fields[15] || Number.NaN);
      // 99.99 is how receivers write that they know none.
      if (pdop > 0 && pdop < 99) this.#pdop = pdop;
    } else {
      const ofDay = timeOfDay(fields[1]);
      if (ofDay === undefined) return;
      if (ofDay !== this.#ofDay) {
        this.#close();
        this.#clock.pass(ofDay);
        this.#ofDay = ofDay;
      }
      if (type === 'GGA' && /^\d$/.test(fields[6] ?? '')) this.#quality = Number(fields[6]);
      const date = type === 'RMC' || type === 'ZDA' ? dateOf(sentence) : undefined;
      if (date !== undefined && date !== 'none') this.#clock.set(date);
    }
  }

  /** GSV: sentences in all, number of this one, satellites in view, then number, elevation, azimuth, strength of up to four; last the signal. */
  #inView({ talker, fields }: Sentence): void {
    const system = systemOfTalker[talker];
    const parts = fields.slice(4);
    const number = parts.length % 4 === 1 ? parts.at(-1)! : '';
    for (let i = 0; i + 3 < parts.length; i += 4) {
      const [id, elevation, , strength] = parts.slice(i, i + 4) as [string, string, string, string];
      const satellite = nameOf(system, id);
      if (satellite === undefined) continue;
      const signal = signalNames[satellite[0]!]?.[number.toUpperCase()] ?? '';
      const [degrees, cn0] = [numberOf(elevation), numberOf(strength)];
      this.#satellites.push({
        satellite,
        signal,
        ...(degrees !== undefined && degrees <= 90 ? { elevationDeg: degrees } : {}),
        ...(cn0 !== undefined && cn0 > 0 ? { cn0 } : {}),
      });
    }
  }

  /** Tells what came between two times, where the day of it is known. */
  #close(): void {
    const { day } = this.#clock;
    if (this.#ofDay !== undefined && day !== undefined) {
      const timeMs = day * dayMs + this.#ofDay;
      if (timeMs <= this.#lastMs || timeMs > this.#latestMs || timeMs <= earliestMs) this.#outside++;
      else {
        this.#lastMs = timeMs;
        this.#told++;
        this.#onEpoch({
          timeMs,
          satellites: this.#satellites,
          ...(this.#quality === undefined ? {} : { quality: this.#quality }),
          ...(this.#pdop === undefined ? {} : { pdop: this.#pdop }),
        });
      }
    }
    this.#quality = undefined;
    this.#pdop = undefined;
    this.#satellites = [];
  }
}

/** A satellite by the number of NMEA: 33 to 64 are of augmentation systems, 65 to 99 of GLONASS, 193 to 202 of QZSS, whatever the talker. */
function nameOf(system: string | undefined, id: string): string | undefined {
  if (!/^\d{1,3}$/.test(id)) return undefined;
  const number = Number(id);
  const name = (letter: string, n: number): string | undefined =>
    n >= 1 && n <= 63 ? `${letter}${String(n).padStart(2, '0')}` : undefined;
  if (number >= 201 && number <= 263 && system === 'C') return name('C', number - 200);
  if (number >= 193 && number <= 202) return name('J', number - 192);
  if (number >= 301 && number <= 336) return name('E', number - 300);
  if (number >= 65 && number <= 99 && (system === 'R' || system === 'G')) return name('R', number - 64);
  if (number >= 33 && number <= 64 && (system === 'G' || system === undefined)) return name('S', number - 13);
  return system === undefined ? undefined : name(system, number);
}

function numberOf(text: string): number | undefined {
  return /^\d+(?:\.\d+)?$/.test(text) ? Number(text) : undefined;
}
