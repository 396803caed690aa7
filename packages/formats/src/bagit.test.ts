import { ProblemError } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import {
  bagDeclaration,
  bagInfo,
  bagManifest,
  checkBagDeclaration,
  payloadOxum,
  readBagInfo,
  readBagManifest,
  unsafeName,
} from './index.ts';

const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
const hash = 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855';
const payload = 'manifest-sha256.txt';
const tags = 'tagmanifest-sha256.txt';

/** What is told of a text that cannot be used. */
function told(work: () => unknown): string[] {
  try {
    work();
  } catch (error) {
    if (error instanceof ProblemError)
      return error.problems.map(
        ({ code, message, at }) => `${at?.file}:${at?.line ?? ''} ${code} ${message}`,
      );
    throw error;
  }
  return [];
}

describe('manifests (RFC 8493, 2.1.3)', () => {
  test('are read as they were written, whatever stands in names; only CR, LF and % are encoded', () => {
    const names = [
      'data/a b',
      'data/50%',
      'data/%0A',
      'data/two\nlines',
      'data/cr\r',
      'data/Übung é\u2028.csv',
    ];
    const files = new Map(names.map((name) => [name, hash]));
    const text = bagManifest(files);
    expect(text).toContain(`${hash}  data/50%25\n`);
    expect(text).toContain(`${hash}  data/%250A\n`);
    expect(text).toContain(`${hash}  data/two%0Alines\n`);
    expect(text).toContain(`${hash}  data/cr%0D\n`);
    expect(text).toContain(`${hash}  data/a b\n`);
    expect(readBagManifest(bytes(text), payload)).toEqual(
      new Map([...files].toSorted(([a], [b]) => (a < b ? -1 : 1))),
    );
  });

  test('may have lines that end in CR LF or CR, tabs, capital digits and small escapes', () => {
    const text = `${hash.toUpperCase()}\tdata/a\r\n${hash} data/b%0d\r${hash}   data/c`;
    expect([...readBagManifest(bytes(text), payload)]).toEqual([
      ['data/a', hash],
      ['data/b\r', hash],
      ['data/c', hash],
    ]);
  });

  test('tell every line that cannot be used', () => {
    const lines = [
      `${hash}  data/good`,
      `${hash.slice(1)}  data/short`,
      hash,
      `${hash}  ../../etc/passwd`,
      `${hash}  /etc/passwd`,
      `${hash}  data/../up`,
      `${hash}  data/100%`,
      `${hash}  bagit.txt`,
      `${hash}  data/good`,
      '',
      `${hash}  data//x`,
    ];
    expect(told(() => readBagManifest(bytes(lines.join('\n')), payload))).toEqual([
      `${payload}:2 ARCHIVE_FORMAT a line of the manifest cannot be read`,
      `${payload}:3 ARCHIVE_FORMAT a line of the manifest cannot be read`,
      `${payload}:4 ARCHIVE_UNSAFE the manifest names ../../etc/passwd: it leads out of its folder by ..`,
      `${payload}:5 ARCHIVE_UNSAFE the manifest names /etc/passwd: it is absolute`,
      `${payload}:6 ARCHIVE_UNSAFE the manifest names data/../up: it leads out of its folder by ..`,
      `${payload}:7 ARCHIVE_FORMAT a percent sign in data/100% stands for no character`,
      `${payload}:8 ARCHIVE_FORMAT bagit.txt does not belong into this manifest`,
      `${payload}:9 ARCHIVE_FORMAT the manifest names data/good twice`,
      `${payload}:10 ARCHIVE_FORMAT a line of the manifest cannot be read`,
      `${payload}:11 ARCHIVE_UNSAFE the manifest names data//x: it has an empty part`,
    ]);
    expect(told(() => readBagManifest(bytes(`${hash}  data/x\n`), tags))).toHaveLength(1);
    expect(told(() => readBagManifest(bytes(`${hash}  ${tags}\n`), tags))).toHaveLength(1);
  });

  test('a path cut by a carriage return is two lines, of which the second has no hash', () => {
    expect(told(() => readBagManifest(bytes(`${hash}  data/a\rb\n`), payload))).toEqual([
      `${payload}:2 ARCHIVE_FORMAT a line of the manifest cannot be read`,
    ]);
  });

  test('that are none are not told line by line without end', () => {
    expect(told(() => readBagManifest(bytes('\n'.repeat(100_000)), payload))).toHaveLength(100);
  });

  test('begin without a byte order mark and are UTF-8', () => {
    expect(told(() => readBagManifest(bytes(`\ufeff${hash}  data/a\n`), payload))).toEqual([
      `${payload}:1 ARCHIVE_FORMAT the file begins with a byte order mark`,
    ]);
    const latin = Uint8Array.from(`${hash}  data/\u00fcbung\n`, (c) => c.charCodeAt(0));
    expect(told(() => readBagManifest(latin, payload))).toEqual([
      `${payload}: ARCHIVE_FORMAT the file is not UTF-8`,
    ]);
  });
});

describe('the declaration (RFC 8493, 2.1.1)', () => {
  test('is that of version 1.0 in UTF-8', () => {
    expect(told(() => checkBagDeclaration(bytes(bagDeclaration)))).toEqual([]);
    expect(told(() => checkBagDeclaration(bytes(bagDeclaration.replaceAll('\n', '\r\n'))))).toEqual([]);
  });

  test.each([
    [bagDeclaration.replace('1.0', '0.97'), 'the bag is of BagIt version 0.97'],
    [bagDeclaration.replace('1.0', '2.0'), 'the bag is of BagIt version 2.0'],
    [bagDeclaration.replace('UTF-8', 'ISO-8859-1'), 'the tag files of the bag are not said to be UTF-8'],
    [bagDeclaration.split('\n')[0]!, 'the tag files of the bag are not said to be UTF-8'],
    [`${bagDeclaration}more\n`, 'the declaration of the bag cannot be read'],
    [`\ufeff${bagDeclaration}`, 'the file begins with a byte order mark'],
    ['', 'the declaration of the bag cannot be read'],
  ])('%j is refused', (text, message) => {
    expect(told(() => checkBagDeclaration(bytes(text))).join()).toContain(message);
  });
});

describe('bag-info.txt (RFC 8493, 2.2.2)', () => {
  test('is read as it was written; a value stays in its line', () => {
    const text = bagInfo([
      ['External-Description', 'Dam: upper\nlake'],
      ['Payload-Oxum', payloadOxum([{ bytes: 279 }, { bytes: 163 }])],
    ]);
    expect(text).toBe('External-Description: Dam: upper lake\nPayload-Oxum: 442.2\n');
    expect(readBagInfo(bytes(text))).toEqual([
      ['External-Description', 'Dam: upper lake'],
      ['Payload-Oxum', '442.2'],
    ]);
  });

  test('lines may go on, indented', () => {
    expect(readBagInfo(bytes('A: one\r\n  two\r\n\tthree\r\nB:four\r\n'))).toEqual([
      ['A', 'one two three'],
      ['B', 'four'],
    ]);
  });

  test('a line without a label is refused', () => {
    expect(told(() => readBagInfo(bytes('A: b\nno label\n')))).toEqual([
      'bag-info.txt:2 ARCHIVE_FORMAT the line cannot be read',
    ]);
  });
});

test('names that lead elsewhere, or that systems read as something else, are not safe', () => {
  const unsafe = [
    '',
    '/a',
    'C:/a',
    'c:a',
    'a/../b',
    '..',
    'a//b',
    'a/./b',
    'a/',
    'a\\b',
    'a\0b',
    'a\ud800',
    'a\ufffd',
  ];
  expect(unsafe.filter((name) => unsafeName(name) === undefined)).toEqual([]);
  const safe = ['a', 'a/b', '..a/b..', 'a b', 'a%b', 'a\nb', 'ü', '.hidden', 'ab:c', '\u{1f600}'];
  expect(safe.filter((name) => unsafeName(name) !== undefined)).toEqual([]);
});
