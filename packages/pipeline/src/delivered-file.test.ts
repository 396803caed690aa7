import { gzipSync } from 'node:zlib';
import { ProblemError } from '@stillmark/problems';
import { expect, test } from 'vitest';
import { partsOf } from './delivered-file.ts';
import { nodeFiles } from './node-files.ts';

const text = new TextEncoder().encode('station,time\nS1,2026-03-01T06:00:00Z\n'.repeat(50));
// Made by zipfile of Python 3.11: b.csv, a.csv, what a Macintosh adds, and a folder.
const archive = Buffer.from(
  'UEsDBBQAAAAIAAAAIVxh3uI5FAAAABIAAAAFAAAAYi5jc3YrLkksyczP0ynJzE3lCjbUMeICAFBLAwQUAAAACAAAACFcoo3PEhQAAAASAAAABQAAAGEuY3N2Ky5JLMnMz9MpycxN5Qo21DHkAgBQSwMEFAAAAAgAAAAhXIMW3IwDAAAAAQAAABAAAABfX01BQ09TWC8uX2EuY3N2qwAAUEsDBBQAAAAIAAAAIVwAAAAAAgAAAAAAAAAHAAAAZm9sZGVyLwMAUEsBAhQDFAAAAAgAAAAhXGHe4jkUAAAAEgAAAAUAAAAAAAAAAAAAAIABAAAAAGIuY3N2UEsBAhQDFAAAAAgAAAAhXKKNzxIUAAAAEgAAAAUAAAAAAAAAAAAAAIABNwAAAGEuY3N2UEsBAhQDFAAAAAgAAAAhXIMW3IwDAAAAAQAAABAAAAAAAAAAAAAAAIABbgAAAF9fTUFDT1NYLy5fYS5jc3ZQSwECFAMUAAAACAAAACFcAAAAAAIAAAAAAAAABwAAAAAAAAAAAAAAgAGfAAAAZm9sZGVyL1BLBQYAAAAABAAEANkAAADGAAAAAAA=',
  'base64',
);

const files = (bytes: Uint8Array) => ({
  ...nodeFiles,
  async *stream() {
    for (let i = 0; i < bytes.length; i += 700) yield await Promise.resolve(bytes.subarray(i, i + 700));
  },
});
const unpacked = async (bytes: Uint8Array, most = 1e6): Promise<[string, string][]> => {
  const out: [string, string][] = [];
  for (const part of await partsOf('/a', 'a.csv.gz', files(bytes), { whole: most, inPieces: most })) {
    const pieces: Uint8Array[] = [];
    for await (const chunk of part.chunks()) pieces.push(chunk);
    expect(Buffer.concat(pieces)).toEqual(Buffer.from(await part.bytes()));
    out.push([part.name, Buffer.concat(pieces).toString()]);
  }
  return out;
};
const refusal = async (bytes: Uint8Array, most?: number): Promise<string> => {
  try {
    await unpacked(bytes, most);
    return 'not refused';
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    const [{ code, at }] = error.problems as [(typeof error.problems)[0]];
    return `${code} ${at!.file}: ${error.message}`;
  }
};

test('what is packed is unpacked, what is not is left as it is', async () => {
  const whole = Buffer.from(text).toString();
  expect(await unpacked(gzipSync(text))).toEqual([['a.csv.gz', whole]]);
  expect(await unpacked(Buffer.concat([gzipSync(text), gzipSync(text)]))).toEqual([
    ['a.csv.gz', whole + whole],
  ]);
  expect(await unpacked(text)).toEqual([['a.csv.gz', whole]]);
  expect(await unpacked(new Uint8Array(0))).toEqual([['a.csv.gz', '']]);
});

test('an archive gives its files in the order of their names, and nothing else', async () =>
  expect(await unpacked(archive)).toEqual([
    ['a.csv.gz/a.csv', 'station,time\nS1,1\n'],
    ['a.csv.gz/b.csv', 'station,time\nS1,2\n'],
  ]));

test('a file that is cut anywhere is said to be cut; one that is damaged, damaged', async () => {
  const packed = gzipSync(text);
  for (let length = 4; length < packed.length; length += 7)
    expect(await refusal(packed.subarray(0, length))).toMatch(/^INPUT_CUT a\.csv\.gz: .*ends too early/);
  const broken = Uint8Array.from(packed);
  broken[20]! ^= 0xff;
  expect(await refusal(broken)).toMatch(/^INPUT_(?:NOT_TEXT|CUT) a\.csv\.gz/);
  for (let length = 4; length < archive.length; length += 7)
    expect(await refusal(archive.subarray(0, length))).toMatch(/^INPUT_NOT_TEXT a\.csv\.gz: .*damaged/);
  for (let at = 4; at < archive.length; at += 3) {
    const spoilt = Uint8Array.from(archive);
    spoilt[at]! ^= 0xff;
    expect(await refusal(spoilt)).toMatch(/^INPUT_|not refused/);
  }
});

test('a small file does not grow without end, in a gzip file or an archive', async () => {
  const bomb = gzipSync(new Uint8Array(5_000_000));
  expect(bomb.length).toBeLessThan(6000);
  expect(await refusal(bomb)).toMatch(/INPUT_NOT_TEXT .*holds more than 1 MB when it is unpacked/);
  expect(await refusal(archive, 15)).toMatch(/INPUT_NOT_TEXT .*holds more than/);
});

test('what is compressed otherwise is named', async () =>
  expect(await refusal(Uint8Array.from([0x1f, 0x9d, 0x90, 1, 2]))).toMatch(
    /INPUT_NOT_TEXT .*\.Z, which is not read/,
  ));
