import { promisify } from 'node:util';
import { gunzip } from 'node:zlib';
import { fail } from '@stillmark/problems';

/** No delivered file is larger than this once it is unpacked: a small one that grows without end is a mistake, or an attack. */
export const mostUnpacked = 2 ** 30;

/**
 * The bytes of a delivered file: those of a gzip file (RFC 1952) unpacked, known by its first two bytes whatever its name, all others as
 * they are.
 *
 * @throws INPUT_CUT where it ends too early, INPUT_NOT_TEXT where it is damaged or grows beyond `most`
 */
export async function unpack(bytes: Uint8Array, file: string, most = mostUnpacked): Promise<Uint8Array> {
  if (bytes[0] !== 0x1f || bytes[1] !== 0x8b) return bytes;
  try {
    return await promisify(gunzip)(bytes, { maxOutputLength: most });
  } catch (error) {
    const { code } = error as { readonly code?: string };
    if (code === 'Z_BUF_ERROR')
      return fail('INPUT_CUT', 'the compressed file ends too early', {
        at: { file },
        hint: 'the file delivered again, whole',
      });
    if (code === 'ERR_BUFFER_TOO_LARGE')
      return fail(
        'INPUT_NOT_TEXT',
        `the compressed file is larger than ${most / 2 ** 20} MiB when it is unpacked`,
        {
          at: { file },
          hint: 'files of a month or less',
        },
      );
    return fail('INPUT_NOT_TEXT', `the compressed file is damaged: ${(error as Error).message}`, {
      at: { file },
      hint: 'the file delivered again',
    });
  }
}
