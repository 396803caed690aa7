import { fail } from '@stillmark/problems';

/**
 * The text of a file, or a problem that says why it is none. A byte order mark is dropped.
 *
 * @throws INPUT_NOT_TEXT for bytes that are not UTF-8, or hold a NUL byte (compressed files, spreadsheets, pictures)
 */
export function decodeText(bytes: Uint8Array, file: string): string {
  const nul = bytes.indexOf(0);
  if (nul >= 0)
    fail('INPUT_NOT_TEXT', `byte ${nul + 1} is NUL: this is no text file`, {
      at: { file },
      hint: 'a CSV file in UTF-8',
    });
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return fail('INPUT_NOT_TEXT', 'the bytes are not UTF-8', {
      at: { file },
      hint: 'a CSV file in UTF-8 (save it again as UTF-8)',
    });
  }
}
