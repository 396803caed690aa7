import { gzipSync } from 'node:zlib';
import { ProblemError } from '@stillmark/problems';
import { expect, test } from 'vitest';
import { unpack } from './unpack.ts';

const text = new TextEncoder().encode('station,time\nS1,2026-03-01T06:00:00Z\n'.repeat(50));
const refusal = async (bytes: Uint8Array, most?: number): Promise<string> => {
  try {
    await unpack(bytes, 'a.csv.gz', most);
    return 'not refused';
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    const [{ code, at }] = error.problems as [(typeof error.problems)[0]];
    return `${code} ${at!.file}: ${error.message}`;
  }
};

test('what is packed is unpacked, what is not is left as it is', async () => {
  expect(Buffer.from(await unpack(gzipSync(text), 'a.csv'))).toEqual(Buffer.from(text));
  expect(await unpack(text, 'a.csv.gz')).toBe(text);
  expect(await unpack(new Uint8Array(0), 'a.csv')).toHaveLength(0);
});

test('a file that is cut anywhere is said to be cut; one that is damaged, damaged', async () => {
  const packed = gzipSync(text);
  for (let length = 3; length < packed.length; length += 7)
    expect(await refusal(packed.subarray(0, length))).toMatch(/^INPUT_CUT a\.csv\.gz: .*ends too early/);
  const broken = Uint8Array.from(packed);
  broken[20]! ^= 0xff;
  expect(await refusal(broken)).toMatch(/^INPUT_(?:NOT_TEXT|CUT) a\.csv\.gz/);
});

test('a small file does not grow without end', async () => {
  const bomb = gzipSync(new Uint8Array(5_000_000));
  expect(bomb.length).toBeLessThan(6000);
  expect(await refusal(bomb, 2 ** 20)).toMatch(/INPUT_NOT_TEXT .*larger than 1 MiB when it is unpacked/);
});
