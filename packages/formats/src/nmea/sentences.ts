import { fail, problem, type Problem } from '@stillmark/problems';
import type { RejectedRow } from '../csv.ts';
import { LineSplitter } from '../lines.ts';

/** A sentence whose checksum is right. */
export interface Sentence {
  readonly line: number;
  readonly text: string;
  /** Two letters of the talker, and three of what it says. */
  readonly talker: string;
  readonly type: string;
  /** What stands between the commas; the address first. */
  readonly fields: readonly string[];
}

const [dollar, bang, asterisk] = [0x24, 0x21, 0x2a] as const;

/**
 * Finds the sentences of NMEA 0183 in a log that comes in pieces. Each goes from `$` or `!` to two hexadecimal digits after an asterisk,
 * the XOR of all characters between; what stands before it in a line (a logger's own time) is passed over.
 */
export class Sentences {
  readonly #file: string;
  readonly #wanted: ReadonlySet<string>;
  readonly #onSentence: (sentence: Sentence) => void;
  readonly #lines: LineSplitter;
  readonly rejected: RejectedRow[] = [];
  /** Number of all sentences, wanted or not. */
  #count = 0;

  /** @param wanted types of sentences; of others nothing can be wrong */
  constructor(file: string, wanted: readonly string[], onSentence: (sentence: Sentence) => void) {
    this.#file = file;
    this.#wanted = new Set(wanted);
    this.#onSentence = onSentence;
    this.#lines = new LineSplitter(file, (text, line, ended) => this.#line(text, line, ended));
  }

  /** @throws INPUT_NOT_TEXT where the log is no text */
  take(chunk: Uint8Array): void {
    this.#lines.take(chunk);
  }

  /**
   * @param example a sentence that the log should hold
   * @throws INPUT_EMPTY where it holds none at all
   */
  end(example: string): void {
    this.#lines.end();
    if (this.#count === 0)
      fail('INPUT_EMPTY', 'the file holds no sentence of NMEA 0183', {
        at: { file: this.#file },
        hint: example,
      });
  }

  reject(line: number, text: string, code: Problem['code'], message: string, hint: string): void {
    this.rejected.push({
      problem: problem(code, message, {
        at: { file: this.#file, line, column: 1 },
        sourceLine: text.slice(0, 120),
        hint,
      }),
      line,
      text,
    });
  }

  #line(text: string, line: number, ended: boolean): void {
    let begin = 0;
    while (begin < text.length) {
      const code = text.charCodeAt(begin);
      if (code === dollar || code === bang) break;
      begin++;
    }
    if (begin === text.length) return;
    let end = text.length;
    while (end > begin && text.charCodeAt(end - 1) <= 0x20) end--;
    const star = end - 3;
    const told =
      star > begin && text.charCodeAt(star) === asterisk
        ? hexOf(text.charCodeAt(star + 1), text.charCodeAt(star + 2))
        : -1;
    if (told < 0) {
      if (ended)
        this.reject(line, text, 'INPUT_ROW', 'the sentence has no checksum', 'such as $GPGGA,...*47');
      else
        this.reject(
          line,
          text,
          'INPUT_CUT',
          'the file ends in the middle of a sentence',
          'such as $GPGGA,...*47',
        );
      return;
    }
    this.#count++;
    const comma = text.indexOf(',', begin);
    const address = comma < 0 || comma > star ? star : comma;
    if (address - begin < 4) return;
    const type = text.slice(address - 3, address);
    if (!this.#wanted.has(type)) return;
    let sum = 0;
    for (let i = begin + 1; i < star; i++) sum ^= text.charCodeAt(i);
    if (sum !== told) {
      const hex = (value: number): string => value.toString(16).toUpperCase().padStart(2, '0');
      this.reject(
        line,
        text,
        'INPUT_ROW',
        `the checksum is ${hex(told)}, of these characters it is ${hex(sum)}`,
        'the sentence as it was sent',
      );
      return;
    }
    const fields = text.slice(begin + 1, star).split(',');
    this.#onSentence({ line, text, talker: text.slice(begin + 1, address - 3), type, fields });
  }
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
