import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { po } from 'gettext-parser';
import type { SiteMessage } from '@stillmark/records';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { nodeFiles } from './node-files.ts';
import { readWords } from './words-file.ts';
import { writeWords, type WordsResult } from './words.ts';

const message = (id: string, more: Partial<SiteMessage> = {}): SiteMessage => ({
  id,
  places: [],
  where: ['a.ts'],
  ...more,
});
const messages = [
  message('{0} has moved {1}.', { places: ['id', 'size'] }),
  message('{0} day', { plural: '{0} days', places: ['number'] }),
  message('.', { context: 'decimal sign' }),
];

let folder: string;
let out: string;
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'stillmark-words-'));
  out = join(folder, 'words.de.po');
});
afterEach(() => rm(folder, { recursive: true, force: true }));

const write = (of: readonly SiteMessage[] = messages, language?: string): Promise<WordsResult> =>
  writeWords({ out, ...(language === undefined ? {} : { language }) }, of, { files: nodeFiles });
const text = (): Promise<string> => readFile(out, 'utf8');

const head = (more = ''): string =>
  `msgid ""\nmsgstr ""\n"Language: de\\n"\n"Plural-Forms: nplurals=2; plural=(n != 1);\\n"\n\n${more}`;
const read = (content: string): ReturnType<typeof readWords> =>
  readWords(new TextEncoder().encode(content), 'words.de.po');

describe('a file of translations', () => {
  test('holds every message with what is filled in, and is the same when it is written again', async () => {
    expect(await write(messages, 'de')).toMatchObject({ messages: 3, translated: 0, added: 3, gone: 0 });
    const first = await text();
    expect(first).toContain('#: a.ts\n#. {0}: id\n#. {1}: size\nmsgid "{0} has moved {1}."\nmsgstr ""\n');
    expect(await write()).toMatchObject({ language: 'de', added: 0, gone: 0 });
    expect(await text()).toBe(first);
  });

  test('keeps translations, comments and marks, and what is said no more', async () => {
    await writeFile(
      out,
      head(
        '# noted by hand\n#, fuzzy\nmsgid "{0} has moved {1}."\nmsgstr "{0} ging {1}."\n\nmsgid "old words"\nmsgstr "alte Worte"\n\nmsgid "old and empty"\nmsgstr ""\n',
      ),
    );
    expect(await write()).toMatchObject({ added: 2, gone: 1, translated: 0 });
    const updated = await text();
    expect(updated).toContain('# noted by hand');
    expect(updated).toContain('#, fuzzy\nmsgid "{0} has moved {1}."\nmsgstr "{0} ging {1}."');
    expect(updated).toContain('#~ msgid "old words"\n#~ msgstr "alte Worte"');
    expect(await write([...messages, message('old words')])).toMatchObject({
      added: 0,
      gone: 0,
      translated: 1,
    });
    expect(await text()).toContain('\nmsgid "old words"\nmsgstr "alte Worte"');
  });

  test('that is none stays untouched, with the line that is wrong', async () => {
    const spoilt = head('msgid "a"\nmsgstr "b" oops\n');
    await writeFile(out, spoilt);
    await expect(write()).rejects.toMatchObject({
      problems: [{ code: 'WORDS_FILE', at: { file: out, line: expect.any(Number) as number } }],
    });
    expect(await text()).toBe(spoilt);
  });

  test('needs a language once, and keeps it', async () => {
    await expect(write()).rejects.toMatchObject({ problems: [{ code: 'USE_OPTION' }] });
    await expect(write(messages, 'not a tag')).rejects.toMatchObject({ problems: [{ code: 'USE_OPTION' }] });
    await write(messages, 'de');
    await expect(write(messages, 'fr')).rejects.toMatchObject({ problems: [{ code: 'USE_OPTION' }] });
  });
});

describe('words that are read', () => {
  test('are those that are translated and not fuzzy', () => {
    const { words, problems } = read(
      head(
        'msgid "a"\nmsgstr "A"\n\n#, fuzzy\nmsgid "b"\nmsgstr "B"\n\nmsgid "c"\nmsgstr ""\n\nmsgctxt "axis"\nmsgid "a"\nmsgstr "Achse"\n',
      ),
    );
    expect(words).toEqual({
      language: 'de',
      pluralForms: 'nplurals=2; plural=(n != 1);',
      messages: { a: 'A', 'axis\u0004a': 'Achse' },
    });
    expect(problems).toEqual([]);
  });

  test.each([
    ['msgid "{0} has moved {1}."\nmsgstr "{0} ging."', 'it leaves out {1}'],
    ['msgid "see <0>how</0>"\nmsgstr "siehe <0>wie"', '<0> is not closed'],
    ['msgctxt "decimal sign"\nmsgid "."\nmsgstr "1"', 'it is no sign of one or two characters'],
    ['msgctxt "minus sign"\nmsgid "\u2212"\nmsgstr "<b>"', 'it is no minus sign'],
    ['msgctxt "minus sign"\nmsgid "\u2212"\nmsgstr "+"', 'it is no minus sign'],
    ['msgctxt "decimal sign"\nmsgid "."\nmsgstr " "', 'it is no sign that stands between digits'],
    ['msgctxt "between thousands"\nmsgid "\u202f"\nmsgstr "-"', 'it is no sign of one or two characters'],
    [
      'msgid "{0}, of which one lasts"\nmsgid_plural "{0}, of which {1} last"\nmsgstr[0] "{0}, einer dauert an"\nmsgstr[1] "{0}, einer dauert an"',
      'it leaves out {1}',
    ],
    ['msgid "{0} day"\nmsgid_plural "{0} days"\nmsgstr[0] "{0} Tag"\nmsgstr[1] "Tage"', 'it leaves out {0}'],
  ])('%s is told with its line, and English stands instead', (entry, why) => {
    const { words, problems } = read(head(`${entry}\n`));
    expect(words.messages).toEqual({});
    expect(problems).toMatchObject([
      {
        code: 'WORDS_MESSAGE',
        severity: 'warning',
        message: `a translation is not used: ${why}`,
        at: { file: 'words.de.po', line: entry.startsWith('msgctxt') ? 7 : 6 },
      },
    ]);
  });

  test('what is said of one may leave out its number, where no other count takes its form', () => {
    const entry = (forms: string): string =>
      `msgid "{0}, of which one lasts"\nmsgid_plural "{0}, of which {1} last"\n${forms}\n`;
    const two = 'msgstr[0] "{0}, einer dauert an"\nmsgstr[1] "{0}, {1} dauern an"';
    expect(read(head(entry(two))).problems).toEqual([]);
    // As in Russian: 21 and 31 take the form of 1.
    const rule =
      'nplurals=3; plural=(n%10==1 && n%100!=11 ? 0 : n%10>=2 && n%10<=4 && (n%100<10 || n%100>=20) ? 1 : 2);';
    const slavic = head(entry(`${two}\nmsgstr[2] "{0}, {1} dauern an"`)).replace(
      'nplurals=2; plural=(n != 1);',
      rule,
    );
    expect(read(slavic).problems).toMatchObject([
      { message: 'a translation is not used: it leaves out {1}' },
    ]);
  });

  test('thousands that would be taken for decimals are not used, also where the decimal sign stays English', () => {
    const { words, problems } = read(head('msgctxt "between thousands"\nmsgid "\u202f"\nmsgstr "."\n'));
    expect(words.messages).toEqual({});
    expect(problems).toHaveLength(1);
  });

  test('a sign that would be taken for the other is not used', () => {
    const { words, problems } = read(
      head(
        'msgctxt "decimal sign"\nmsgid "."\nmsgstr ","\n\nmsgctxt "between thousands"\nmsgid "\u202f"\nmsgstr ","\n',
      ),
    );
    expect(words.messages).toEqual({ 'decimal sign\u0004.': ',' });
    expect(problems).toHaveLength(1);
  });

  test.each([
    ['no head', 'msgid "a"\nmsgstr "b"\n', /no head/],
    ['no language', head().replace('de', ''), /names no language/],
    ['a wrong rule', head().replace('(n != 1)', 'n'), /Plural-Forms cannot be used: for 2 it gives 2/],
    ['a doubled entry', head('msgid "a"\nmsgstr "b"\n\nmsgid "a"\nmsgstr "c"\n'), /Duplicate msgid/],
    ['another file', '<html>', /no sound PO file|no head/],
  ])('%s is refused', (_, content, why) => {
    expect(() => read(content)).toThrow(why);
  });

  test('bytes that are not UTF-8 are refused', () => {
    expect(() => readWords(new Uint8Array([0xff, 0xfe, 0x00]), 'words.de.po')).toThrow(/UTF-8/);
  });

  test('what an independent writer of PO files writes is read', () => {
    const compiled = po.compile({
      charset: 'utf-8',
      headers: { Language: 'pt_BR', 'Plural-Forms': 'nplurals=2; plural=(n > 1);' },
      translations: { '': { 'a\n"b"\\': { msgid: 'a\n"b"\\', msgstr: ['x\ty'] } } },
    });
    expect(readWords(new Uint8Array(compiled), 'w.po').words).toMatchObject({
      language: 'pt-BR',
      messages: { 'a\n"b"\\': 'x\ty' },
    });
  });
});
