import { po, type GetTextTranslation, type GetTextTranslations } from 'gettext-parser';
import { fail, type Problem } from '@stillmark/problems';
import type { SiteMessage } from '@stillmark/records';
import { keyOf, readPluralForms } from '@stillmark/words';
import type { Effects } from './effects.ts';
import { entriesOf, header, isFuzzy, parseWords, readWords } from './words-file.ts';

export interface WordsTask {
  readonly out: string;
  /** BCP 47 tag; that of the file where one stands. */
  readonly language?: string;
}

/** How a file of translations stands to the messages of the site. */
export interface WordsResult {
  readonly language: string;
  readonly messages: number;
  readonly translated: number;
  /** Messages that were not in the file. */
  readonly added: number;
  /** Entries whose message the site has no more; they are kept at the end of the file. */
  readonly gone: number;
  readonly problems: readonly Problem[];
}

/**
 * Writes a PO file with all messages of the site, or brings one up to date: what is translated stays as it is, with its comments; what the site
 * says no more is kept, as obsolete.
 *
 * @throws WORDS_FILE, USE_OPTION; the file is untouched then
 */
export async function writeWords(
  { out, language }: WordsTask,
  messages: readonly SiteMessage[],
  { files }: Pick<Effects, 'files'>,
): Promise<WordsResult> {
  const bytes = await files.read(out);
  const known = bytes ? parseWords(bytes, out).catalogue : undefined;
  const own = known && header(known, 'Language');
  const tag = own || language;
  if (tag === undefined)
    return fail('USE_OPTION', 'a new file of translations needs a language', { hint: '--language de' });
  if (!/^[A-Za-z]{2,8}(?:[-_][A-Za-z0-9]{1,8})*$/.test(tag))
    return fail('USE_OPTION', `'${tag}' is no tag of a language`, { hint: 'such as de or pt-BR' });
  if (language !== undefined && language !== tag)
    return fail('USE_OPTION', `the file is in ${tag}, and not in ${language}`, {
      at: { file: out },
      hint: 'another file',
    });
  const { catalogue, added, gone } = merged(known, tag, messages);
  const text = new Uint8Array(po.compile(catalogue, { foldLength: 100 }));
  // Nothing is written that could not be read again.
  const { words, problems } = readWords(text, out);
  await files.write(out, text);
  return {
    language: words.language,
    messages: messages.length,
    translated: Object.keys(words.messages).length,
    added,
    gone,
    problems,
  };
}

/** The template of all messages, as text: a PO file of no language. */
export function templateOf(messages: readonly SiteMessage[]): string {
  const { catalogue } = merged(undefined, '', messages);
  return new TextDecoder().decode(new Uint8Array(po.compile(catalogue, { foldLength: 100 })));
}

function merged(
  known: GetTextTranslations | undefined,
  language: string,
  messages: readonly SiteMessage[],
): { catalogue: GetTextTranslations; added: number; gone: number } {
  const headers = {
    'Project-Id-Version': 'stillmark',
    'MIME-Version': '1.0',
    'Content-Type': 'text/plain; charset=utf-8',
    'Content-Transfer-Encoding': '8bit',
    Language: language,
    'Plural-Forms': 'nplurals=2; plural=(n != 1);',
    ...known?.headers,
  };
  const forms = readPluralForms(headers['Plural-Forms']).forms;
  const present = new Map(known ? entriesOf(known).map((e) => [keyOf(e.msgid, e.msgctxt), e]) : []);
  const obsolete = new Map(
    Object.values(known?.obsolete ?? {})
      .flatMap((context) => Object.values(context))
      .map((e) => [keyOf(e.msgid, e.msgctxt), e]),
  );
  const translations: Record<string, Record<string, GetTextTranslation>> = { '': {} };
  let added = 0;
  for (const message of messages) {
    const key = keyOf(message.id, message.context);
    const before = present.get(key) ?? obsolete.get(key);
    if (!before) added++;
    present.delete(key);
    obsolete.delete(key);
    (translations[message.context ?? ''] ??= {})[message.id] = entryOf(message, before, forms);
  }
  // Nothing that somebody translated is thrown away; of what is empty nothing is lost.
  const gone = [...present.values(), ...obsolete.values()].filter((e) => e.msgstr.some((s) => s !== ''));
  const kept: Record<string, Record<string, GetTextTranslation>> = {};
  for (const entry of gone) (kept[entry.msgctxt ?? ''] ??= {})[entry.msgid] = { ...entry, obsolete: true };
  return {
    catalogue: { charset: 'utf-8', headers, translations, ...(gone.length > 0 ? { obsolete: kept } : {}) },
    added,
    gone: gone.length,
  };
}

function entryOf(
  { id, plural, context, places, where }: SiteMessage,
  before: GetTextTranslation | undefined,
  forms: number,
): GetTextTranslation {
  const blank = Array.from({ length: plural === undefined ? 1 : forms }, () => '');
  const fits = before !== undefined && (before.msgid_plural === undefined) === (plural === undefined);
  // What was said of any number is a guess for each form, and the other way round: a person looks at it.
  const said = before?.msgstr.some((s) => s !== '') ?? false;
  const flag = before && said && (isFuzzy(before) || !fits) ? 'fuzzy' : undefined;
  return {
    ...(context === undefined ? {} : { msgctxt: context }),
    msgid: id,
    ...(plural === undefined ? {} : { msgid_plural: plural }),
    msgstr: blank.map((_, i) => before?.msgstr[fits ? i : 0] ?? ''),
    comments: {
      ...(before?.comments?.translator ? { translator: before.comments.translator } : {}),
      extracted: places.map((place, i) => `{${i}}: ${place}`).join('\n'),
      reference: where.join('\n'),
      ...(flag === undefined ? {} : { flag }),
    },
  };
}
