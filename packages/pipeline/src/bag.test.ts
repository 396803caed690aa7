import { createHash } from 'node:crypto';
import { mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { ProblemError } from '@stillmark/problems';
import { serialiseManifest } from '@stillmark/snapshot';
import { zipSync, type Zippable } from 'fflate';
import { pack, type Header } from 'tar-stream';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { archiveBytes, collected, openArchive, usualBounds, type ArchiveBounds } from './archive-form.ts';
import { checkBag } from './bag.ts';
import type { Effects, Files } from './effects.ts';
import { nodeFiles } from './node-files.ts';
import { restore } from './restore.ts';

let folder: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-bag-'));
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const effects: Effects = { files: nodeFiles, progress: () => {}, nowMs: () => 0 };
const sha256 = (text: string | Uint8Array): string => createHash('sha256').update(text).digest('hex');
type Texts = Record<string, string>;

/** A small bag that is whole, with the files of `more` beside it; `after` changes what nothing hashes any more. */
function bagOf(more: Texts = {}, after: (bag: Texts) => Texts = (bag) => bag): Texts {
  const page = '<!doctype html>';
  const payload: Texts = {
    'data/project/project.yaml': 'title: T\n',
    'data/site/index.html': page,
    'data/site/manifest.json': serialiseManifest([
      { path: 'index.html', bytes: page.length, sha256: sha256(page) },
    ]),
    ...more,
  };
  const lines = (texts: Texts): string =>
    Object.entries(texts)
      .map(([path, text]) => `${sha256(text)}  ${path}\n`)
      .join('');
  const tags: Texts = {
    'bagit.txt': 'BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n',
    'manifest-sha256.txt': lines(payload),
  };
  const bag = after({ ...payload, ...tags });
  return { ...bag, 'tagmanifest-sha256.txt': bag['tagmanifest-sha256.txt'] ?? lines(bag_(bag)) };
  function bag_(all: Texts): Texts {
    return Object.fromEntries(Object.entries(all).filter(([path]) => !path.startsWith('data/')));
  }
}

type Member = Partial<Header> & { readonly name: string; readonly text?: string };

/** A tar file of members in their order, as anybody may write it. */
async function tarFile(members: readonly Member[]): Promise<string> {
  const archive = pack();
  for (const { text, ...header } of members) archive.entry({ ...header }, text ?? '');
  archive.finalize();
  const path = join(folder, 'bag.tar');
  await writeFile(path, await collected(archive as AsyncIterable<Uint8Array>));
  return path;
}

const membersOf = (bag: Texts): Member[] =>
  Object.entries(bag).map(([path, text]) => ({ name: `bag/${path}`, text }));

async function zipFile(bag: Texts, more: Zippable = {}): Promise<string> {
  const entries = Object.entries(bag).map(([path, text]) => [`bag/${path}`, new TextEncoder().encode(text)]);
  const path = join(folder, 'bag.zip');
  await writeFile(path, zipSync({ ...(Object.fromEntries(entries) as Zippable), ...more }));
  return path;
}

/** Codes and messages of a restore; nothing may stand in its place then. */
async function refused(file: string): Promise<string[]> {
  const out = join(folder, 'out');
  try {
    await restore(file, out, effects);
  } catch (error) {
    if (!(error instanceof ProblemError)) throw error;
    expect((await readdir(folder)).filter((name) => !name.startsWith('bag.'))).toEqual([]);
    return error.problems.map(({ code, message, at }) => `${code} ${at?.file}: ${message}`);
  }
  return [];
}

const within = async (file: string, bounds: Partial<ArchiveBounds>): Promise<unknown> =>
  checkBag(await openArchive(file, nodeFiles, { ...usualBounds, ...bounds }), file);

describe('a bag that is whole', () => {
  test('is restored from zip and tar, with folders in it or not, and what does not belong is told', async () => {
    const bag = bagOf({ 'data/notes.txt': 'by hand', 'data/project/positions/p.csv': 'x\n' });
    const folders = [
      { name: 'bag/', type: 'directory' as const },
      { name: 'bag/data/', type: 'directory' as const },
    ];
    for (const file of [await tarFile([...folders, ...membersOf(bag)]), await zipFile(bag)]) {
      const out = join(folder, 'out');
      const { problems, ...restored } = await restore(file, out, effects);
      expect(restored).toMatchObject({ files: 4, inputs: 'files', store: false });
      expect(problems.map((p) => `${p.severity} ${p.at!.file}`)).toEqual(['warning data/notes.txt']);
      expect((await readdir(out, { recursive: true })).sort()).toEqual([
        'project',
        'project/positions',
        'project/positions/p.csv',
        'project/project.yaml',
        'site',
        'site/index.html',
        'site/manifest.json',
      ]);
      await rm(out, { recursive: true });
    }
  });

  test('its name in the archive may begin with ./, as tar writes it', async () => {
    const members = membersOf(bagOf()).map((member) => ({ ...member, name: `./${member.name}` }));
    expect(await refused(await tarFile(members))).toEqual([]);
  });

  test('is not written over what stands there', async () => {
    await writeFile(join(folder, 'out'), 'mine');
    const file = await tarFile(membersOf(bagOf()));
    await expect(restore(file, join(folder, 'out'), effects)).rejects.toThrow(/stands there already/);
    await expect(restore(file, folder, effects)).rejects.toThrow(/stands there already/);
  });
});

describe('what a bag must not be', () => {
  const cases: [name: string, bag: Texts, told: RegExp][] = [
    [
      'a changed file',
      bagOf({}, (b) => ({ ...b, 'data/site/index.html': '<!Doctype html>' })),
      /^ARCHIVE_FILE data\/site\/index\.html: the file is changed/,
    ],
    [
      'an added file',
      bagOf({}, (b) => ({ ...b, 'data/site/new.html': '' })),
      /^ARCHIVE_FILE data\/site\/new\.html: the file was added/,
    ],
    [
      'a tag file that is added later',
      { ...bagOf(), 'more.txt': '' },
      /^ARCHIVE_FILE more\.txt: the file was added/,
    ],
    [
      'a bag made anew around a changed site',
      bagOf({ 'data/site/index.html': 'forged' }),
      /^SNAPSHOT_FILE index\.html: the file is changed/,
    ],
    [
      'a bag without a project',
      without(bagOf(), 'data/project/project.yaml'),
      /ARCHIVE_FILE data\/project\/project\.yaml: the file is missing/,
    ],
    [
      'no declaration',
      without(bagOf(), 'bagit.txt'),
      /^ARCHIVE_FORMAT .*: the archive is no bag: it has no bagit\.txt/,
    ],
    ['no manifest', without(bagOf(), 'manifest-sha256.txt'), /it has no manifest-sha256\.txt/],
    ['no manifest of tags', without(bagOf(), 'tagmanifest-sha256.txt'), /it has no tagmanifest-sha256\.txt/],
    [
      'another version',
      bagOf({}, (b) => ({ ...b, 'bagit.txt': b['bagit.txt']!.replace('1.0', '0.97') })),
      /^ARCHIVE_FORMAT bagit\.txt: the bag is of BagIt version 0\.97/,
    ],
    [
      'a byte order mark',
      bagOf({}, (b) => ({ ...b, 'bagit.txt': `\ufeff${b['bagit.txt']}` })),
      /^ARCHIVE_FORMAT bagit\.txt: the file begins with a byte order mark/,
    ],
    [
      'a carriage return in a path of the manifest',
      bagOf({}, (b) => ({
        ...b,
        'manifest-sha256.txt': b['manifest-sha256.txt']!.replace('index', 'in\rdex'),
      })),
      /^ARCHIVE_FORMAT manifest-sha256\.txt: a line of the manifest cannot be read/,
    ],
    [
      'a path that leads out in the manifest',
      bagOf({}, (b) => ({
        ...b,
        'manifest-sha256.txt': b['manifest-sha256.txt']!.replace('data/site/index', 'data/../../index'),
      })),
      /^ARCHIVE_UNSAFE manifest-sha256\.txt: the manifest names/,
    ],
    [
      'a wrong Payload-Oxum',
      bagOf({}, (b) => ({ ...b, 'bag-info.txt': 'Payload-Oxum: 1.1\n' })),
      /^ARCHIVE_FILE bag-info\.txt: the payload is \d+\.3/,
    ],
    [
      'two of them',
      bagOf({}, (b) => ({ ...b, 'bag-info.txt': 'Payload-Oxum: 1.1\nPayload-Oxum: 2.2\n' })),
      /1\.1 and 2\.2 is stated/,
    ],
    [
      'files that lie elsewhere',
      bagOf({}, (b) => ({ ...b, 'fetch.txt': 'http://x - data/x\n' })),
      /the bag is not complete/,
    ],
    [
      'a manifest that no manifest of tags hashes',
      { ...bagOf(), 'tagmanifest-sha256.txt': '' },
      /manifest-sha256\.txt has no hash/,
    ],
  ];

  test.each(cases)('%s', async (_, bag, told) => {
    expect((await refused(await tarFile(membersOf(bag)))).join('\n')).toMatch(told);
    expect((await refused(await zipFile(bag))).join('\n')).toMatch(told);
  });

  test('a renamed file is missing and added', async () => {
    const bag = bagOf();
    const text = bag['data/site/index.html']!;
    const found = await refused(
      await tarFile(membersOf({ ...without(bag, 'data/site/index.html'), 'data/site/Index.html': text })),
    );
    expect(found).toEqual([
      'ARCHIVE_FILE data/site/index.html: the file is missing in the archive',
      'ARCHIVE_FILE data/site/Index.html: the file was added: it is in no manifest',
    ]);
  });
});

function without(bag: Texts, path: string): Texts {
  return Object.fromEntries(Object.entries(bag).filter(([name]) => name !== path));
}

describe('what must not come out of an archive', () => {
  const members = (...more: Member[]): Member[] => [...membersOf(bagOf()), ...more];

  test.each<[string, Member, RegExp]>([
    [
      'a path that leads out',
      { name: 'bag/../../evil', text: 'x' },
      /^ARCHIVE_UNSAFE .*it leads out of its folder/,
    ],
    ['an absolute path', { name: '/etc/evil', text: 'x' }, /^ARCHIVE_UNSAFE .*it is absolute/],
    ['a path of another system', { name: 'bag\\..\\evil', text: 'x' }, /^ARCHIVE_UNSAFE .*a backslash/],
    ['a drive', { name: 'C:/evil', text: 'x' }, /^ARCHIVE_UNSAFE .*it is absolute/],
    [
      'a symbolic link',
      { name: 'bag/data/link', type: 'symlink', linkname: '/etc/passwd' },
      /^ARCHIVE_UNSAFE .*is a link/,
    ],
    [
      'a hard link',
      { name: 'bag/data/link', type: 'link', linkname: 'bag/bagit.txt' },
      /^ARCHIVE_UNSAFE .*is a link/,
    ],
    ['a device', { name: 'bag/data/null', type: 'character-device' }, /^ARCHIVE_UNSAFE .*is no file/],
    ['a pipe', { name: 'bag/data/pipe', type: 'fifo' }, /^ARCHIVE_UNSAFE .*is no file/],
    [
      'a name twice',
      { name: 'bag/bagit.txt', text: 'BagIt-Version: 1.0\n' },
      /^ARCHIVE_UNSAFE .*bagit\.txt twice/,
    ],
    [
      'a file that is a folder',
      { name: 'bag/data/site/index.html/x', text: 'x' },
      /^ARCHIVE_UNSAFE .*a file and a folder/,
    ],
    [
      'a second folder',
      { name: 'other/file', text: 'x' },
      /^ARCHIVE_FORMAT .*more than one folder: bag and other/,
    ],
    ['a file beside the folder', { name: 'file', text: 'x' }, /^ARCHIVE_FORMAT .*lies in no folder/],
  ])('%s in a tar file', async (_, member, told) => {
    expect((await refused(await tarFile(members(member)))).join('\n')).toMatch(told);
    expect((await refused(await tarFile([member, ...membersOf(bagOf())]))).join('\n')).not.toBe('');
  });

  test('the same in a zip file', async () => {
    const x = new Uint8Array([0x78]);
    const link = { os: 3, attrs: (0o120_777 << 16) >>> 0 };
    const cases: [Zippable, RegExp][] = [
      [{ '../evil': x }, /^ARCHIVE_UNSAFE .*it leads out of its folder/],
      [{ '/evil': x }, /^ARCHIVE_UNSAFE .*it is absolute/],
      [{ 'bag\\..\\evil': x }, /^ARCHIVE_UNSAFE .*a backslash/],
      [{ 'bag/data/link': [x, link] }, /^ARCHIVE_UNSAFE .*is a link/],
      [{ 'bag/data/site/index.html/x': x }, /^ARCHIVE_UNSAFE .*a file and a folder/],
    ];
    for (const [more, told] of cases)
      expect((await refused(await zipFile(bagOf(), more))).join('\n')).toMatch(told);
  });

  test('a name twice in a zip file', async () => {
    const file = await zipFile(bagOf(), { 'bag/bagit.tx_': new TextEncoder().encode('other') });
    const bytes = await nodeFiles.read(file);
    await writeFile(
      file,
      Buffer.from(Buffer.from(bytes!).toString('latin1').replaceAll('bagit.tx_', 'bagit.txt'), 'latin1'),
    );
    expect((await refused(file)).join()).toMatch(/ARCHIVE_UNSAFE .*bagit\.txt twice/);
  });

  test('a file that says it is larger than it may be', async () => {
    const header = Buffer.alloc(512);
    const claimed = await tarFile([{ name: 'bag/data/huge', text: 'x' }]);
    (await nodeFiles.read(claimed))!.slice(0, 512).forEach((byte, i) => (header[i] = byte));
    // 100 GB, in the way of sizes that do not fit into octal digits; then the sum of the header (POSIX ustar).
    header.fill(0, 124, 136);
    header[124] = 0x80;
    header.writeBigUInt64BE(100_000_000_000n, 128);
    header.fill(0x20, 148, 156);
    const sum = header.reduce((s, byte) => s + byte, 0);
    header.write(`${sum.toString(8).padStart(6, '0')}\0 `, 148, 'latin1');
    await writeFile(claimed, Buffer.concat([header, Buffer.alloc(1024)]));
    expect((await refused(claimed)).join()).toMatch(
      /ARCHIVE_UNSAFE .*huge claims to have 100000000000 bytes/,
    );
    const file = await tarFile(membersOf(bagOf({ 'data/project/large': 'x'.repeat(5000) })));
    await expect(within(file, { file: 4999 })).rejects.toThrow(/large claims to have 5000 bytes/);
    await expect(within(file, { file: 5000 })).resolves.toBeDefined();
  });

  test('more files than may be', async () => {
    const file = await tarFile(membersOf(bagOf()));
    await expect(within(file, { entries: 5 })).rejects.toThrow(/more than 5 files/);
    await expect(within(file, { entries: 6 })).resolves.toBeDefined();
  });

  test('a small zip file that grows without end', async () => {
    // Zeros in a thousandth of their bytes, and a bag that is right but for that.
    const file = await zipFile(bagOf({ 'data/project/zeros': '\0'.repeat(4_000_000) }));
    await expect(within(file, { spare: 1e6 })).rejects.toThrow(
      /the archive of \d+ bytes claims to hold 400\d+ bytes/,
    );
    await expect(within(file, {})).resolves.toBeDefined();
  });

  test('a zip entry that holds more than it says', async () => {
    const file = await zipFile(bagOf({ 'data/project/grows': 'a'.repeat(10_000) }));
    const bytes = Buffer.from((await nodeFiles.read(file))!);
    // The size of the entry in the central directory (APPNOTE.TXT 4.3.12: at 24 of its header, whose name is at 46).
    const at = bytes.lastIndexOf('bag/data/project/grows') - 46;
    expect(bytes.readUInt32LE(at)).toBe(0x02014b50);
    bytes.writeUInt32LE(100, at + 24);
    await writeFile(file, bytes);
    expect((await refused(file)).join()).toMatch(/^ARCHIVE_FORMAT .*grows: the archive is damaged/);
  });
});

describe('what may happen on the way', () => {
  test('a disk that does not tell capital letters from small ones loses no file unsaid', async () => {
    const file = await tarFile(
      membersOf(bagOf({ 'data/project/a.csv': 'small', 'data/project/A.csv': 'capital' })),
    );
    const files: Files = {
      ...nodeFiles,
      write: (path, bytes) => nodeFiles.write(path.replace('A.csv', 'a.csv'), bytes),
    };
    await expect(restore(file, join(folder, 'out'), { ...effects, files })).rejects.toThrow(
      /does not keep the names of the archive apart/,
    );
    expect(await readdir(folder)).toEqual(['bag.tar']);
  });

  test('an archive that is exchanged after it was checked is not restored', async () => {
    const file = await tarFile(membersOf(bagOf()));
    let passes = 0;
    const files: Files = {
      ...nodeFiles,
      async *stream(path, range) {
        if (path === file && !range) passes++;
        for await (const chunk of nodeFiles.stream(path, range))
          yield passes < 2
            ? chunk
            : Buffer.from(Buffer.from(chunk).toString('latin1').replace('<!doctype', '<!DOCTYPE'), 'latin1');
      },
    };
    await expect(restore(file, join(folder, 'out'), { ...effects, files })).rejects.toThrow(
      /changed while it was read/,
    );
    expect(passes).toBe(2);
    expect(await readdir(folder)).toEqual(['bag.tar']);
  });
});

describe('damage', () => {
  test('an archive that is cut anywhere is refused', async () => {
    for (const file of [await tarFile(membersOf(bagOf())), await zipFile(bagOf())]) {
      const bytes = (await nodeFiles.read(file))!;
      // The last kilobyte of a tar file is its end mark: without it, all files are there.
      const ends = file.endsWith('.tar') ? bytes.length - 1024 : bytes.length;
      for (let length = 0; length < ends; length += 511) {
        await writeFile(file, bytes.subarray(0, length));
        expect(await refused(file), `${length} of ${bytes.length}`).not.toEqual([]);
      }
    }
  });

  test.each([
    ['an empty file', Buffer.alloc(0), /is no archive/],
    ['a text', Buffer.from('Dear Sir or Madam'), /is no archive/],
    ['a compressed tar file', Buffer.from([0x1f, 0x8b, 8, 0]), /it is compressed as a whole/],
  ])('%s is no archive', async (_, bytes, told) => {
    const file = join(folder, 'bag.x');
    await writeFile(file, bytes);
    expect((await refused(file)).join()).toMatch(told);
  });

  test('a file that is not there, and a folder', async () => {
    expect((await refused(join(folder, 'none.zip'))).join()).toMatch(/^USE_FILE_MISSING/);
    expect((await refused(folder)).join()).toMatch(/^USE_FILE_MISSING/);
  });
});

describe('writing', () => {
  const content = (text: string) =>
    async function* (): AsyncGenerator<Uint8Array> {
      yield new TextEncoder().encode(text);
    };

  test('an error on the way ends the archive with it, whatever the form', async () => {
    const bad = async function* (): AsyncGenerator<Uint8Array> {
      yield new Uint8Array(3);
      throw new Error('changed');
    };
    for (const form of ['tar', 'zip'] as const) {
      const files = [
        { path: 'bag/a', bytes: 1, content: content('a') },
        { path: 'bag/b', bytes: 5, content: bad },
        { path: 'bag/c', bytes: 1, content: content('c') },
      ];
      const path = join(folder, `x.${form}`);
      await expect(nodeFiles.write(path, archiveBytes(form, files))).rejects.toThrow('changed');
      expect(await readdir(folder)).toEqual([]);
    }
  });

  test('what a zip file cannot hold is refused before anything is written', () => {
    const none = content('');
    const large = [{ path: 'bag/a', bytes: 2 ** 32, content: none }];
    expect(() => archiveBytes('zip', large)).toThrow(/cannot hold so much/);
    expect(() => archiveBytes('tar', large)).not.toThrow();
    const many = Array.from({ length: 65_535 }, (_, i) => ({ path: `bag/${i}`, bytes: 0, content: none }));
    expect(() => archiveBytes('zip', many)).toThrow(/cannot hold so much/);
  });

  test('long and foreign names come back as they are', async () => {
    const names = [
      `bag/${'n'.repeat(120)}`,
      `bag/${'deep/'.repeat(60)}x`,
      'bag/Übung ñ\u2028.csv',
      'bag/two\nlines',
      'bag/a = b',
    ];
    for (const form of ['tar', 'zip'] as const) {
      const path = join(folder, `x.${form}`);
      await nodeFiles.write(
        path,
        archiveBytes(
          form,
          names.map((name) => ({ path: name, bytes: 1, content: content('x') })),
        ),
      );
      const found: string[] = [];
      for await (const entry of (await openArchive(path, nodeFiles)).entries()) {
        found.push(entry.name);
        expect(await collected(entry.content)).toHaveLength(1);
      }
      expect(found).toEqual(names);
    }
  });
});
