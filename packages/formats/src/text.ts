import { fail } from '@stillmark/problems';

/**
 * The text of a file, or a problem that says why it is none. A byte order mark is dropped.
 *
 * @throws INPUT_NOT_TEXT for bytes that are not UTF-8, or hold a NUL byte (compressed files, spreadsheets, pictures)
 */
export function decodeText(bytes: Uint8Array, file: string): string {
  checkBytes(bytes, file);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return fail('INPUT_NOT_TEXT', 'the bytes are not UTF-8', {
      at: { file },
      hint: 'a CSV file in UTF-8 (save it again as UTF-8)',
    });
  }
}

/**
 * Refuses what is no text of one byte a character.
 *
 * @param before bytes of the file that came before these
 * @throws INPUT_NOT_TEXT for UTF-16 and NUL bytes
 */
export function checkBytes(bytes: Uint8Array, file: string, before = 0): void {
  const [first, second] = bytes;
  if (before === 0 && ((first === 0xff && second === 0xfe) || (first === 0xfe && second === 0xff)))
    fail('INPUT_NOT_TEXT', 'the file is UTF-16', { at: { file }, hint: 'the file saved again as UTF-8' });
  const nul = bytes.indexOf(0);
  if (nul >= 0)
    fail('INPUT_NOT_TEXT', `byte ${before + nul + 1} is NUL: this is no text file`, {
      at: { file },
      hint: 'a text file in UTF-8, compressed by gzip or zip or not at all',
    });
}
