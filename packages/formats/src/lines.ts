import { fail } from '@stillmark/problems';
import { checkBytes } from './text.ts';

/** No line of a text of records is longer than this; what is longer is no such text, and must not fill the memory. */
export const longestLine = 2 ** 20;

/**
 * Cuts a text that comes in pieces into lines, so that a file of any size is read with the memory of a piece and a line. One character a
 * byte (Latin-1): what is read here is ASCII, and a comment in another script must not stop anybody.
 */
export class LineSplitter {
  readonly #file: string;
  readonly #onLine: (text: string, line: number, ended: boolean) => void;
  readonly #decoder = new TextDecoder('latin1');
  #rest = '';
  #line = 0;
  #bytes = 0;

  /** @param onLine is told each line with its number, and whether a line end followed */
  constructor(file: string, onLine: (text: string, line: number, ended: boolean) => void) {
    this.#file = file;
    this.#onLine = onLine;
  }

  /** @throws INPUT_NOT_TEXT for NUL bytes, UTF-16, and lines without end */
  take(chunk: Uint8Array): void {
    checkBytes(chunk, this.#file, this.#bytes);
    this.#bytes += chunk.length;
    const text = this.#rest + this.#decoder.decode(chunk);
    let from = 0;
    for (;;) {
      const end = text.indexOf('\n', from);
      if (end < 0) break;
      this.#onLine(
        text.slice(from, end > from && text[end - 1] === '\r' ? end - 1 : end),
        ++this.#line,
        true,
      );
      from = end + 1;
    }
    this.#rest = text.slice(from);
    if (this.#rest.length > longestLine)
      fail('INPUT_NOT_TEXT', `the line has more than ${longestLine} characters`, {
        at: { file: this.#file, line: this.#line + 1 },
        hint: 'lines that end with a line feed',
      });
  }

  /** Tells the last line, where no line end follows it. */
  end(): void {
    if (this.#rest.trim() !== '') this.#onLine(this.#rest, ++this.#line, false);
    this.#rest = '';
  }
}
