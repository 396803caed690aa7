import { join } from 'node:path';
import { po, type GetTextTranslation, type GetTextTranslations } from 'gettext-parser';
import { fail, warning, type Problem } from '@stillmark/problems';
import type { SiteMessage } from '@stillmark/records';
import { faultOf, keyOf, readPluralForms, type PluralForms, type Words } from '@stillmark/words';
import type { Files } from './effects.ts';
import { checkInside, projectFile, type ProjectFolder } from './project-folder.ts';

/** A file of translations as it is used, and what is wrong in it. */
export interface WordsFile {
  readonly words: Words;
  /** Translations that do not fit their message, and are not used. */
  readonly problems: readonly Problem[];
}

/** As `stillmark snapshot` writes it into a site. */
const isWords = (value: unknown): value is Words => {
  const { language, pluralForms, messages } = (value ?? {}) as Partial<Record<keyof Words, unknown>>;
  const isText = (v: unknown): boolean => typeof v === 'string';
  return (
    isText(language) &&
    isText(pluralForms) &&
    typeof messages === 'object' &&
    Object.values(messages ?? {}).every((v) => isText(v) || (Array.isArray(v) && v.every(isText)))
  );
};

/** Signs that stand in figures: a digit or nothing in their place would change what is stated. */
const signs = ['decimal sign', 'between thousands', 'minus sign'];

/**
 * The words in which the site of a project is said; undefined where it is said in English.
 *
 * @throws INPUT_NONE, INPUT_PLACE, WORDS_FILE where the file that the project names cannot be used
 */
export async function readWordsOf(opened: ProjectFolder, files: Files): Promise<WordsFile | undefined> {
  const { project, folder } = opened;
  if (project.words === undefined) return undefined;
  if ((await files.kind(join(folder, project.words))) === 'nothing')
    return fail('INPUT_NONE', `there is no file ${project.words} (words of the site)`, {
      at: { file: projectFile },
      hint: '`stillmark words --language <tag> --out <file>` writes one with all messages',
    });
  await checkInside(opened, project.words, files);
  return readWords((await files.read(join(folder, project.words)))!, project.words);
}

/**
 * The words that a site was written in, from its `words.json`; undefined where it is in English.
 *
 * @throws SNAPSHOT_FORMAT where the file is not as `stillmark snapshot` writes it
 */
export async function wordsOfSite(site: string, files: Files): Promise<Words | undefined> {
  const file = join(site, 'words.json');
  const bytes = await files.read(file);
  if (!bytes) return undefined;
  try {
    const words: unknown = JSON.parse(new TextDecoder().decode(bytes));
    if (!isWords(words)) throw new TypeError('no words');
    readPluralForms(words.pluralForms);
    return words;
  } catch {
    return fail('SNAPSHOT_FORMAT', 'the words of the site cannot be read', {
      at: { file },
      hint: 'a folder written by `stillmark snapshot`',
    });
  }
}

/**
 * Reads a PO file. Empty and fuzzy translations are left out, as by all tools that read such files.
 *
 * @throws WORDS_FILE where it is none, or its head does not say what is needed
 */
export function readWords(bytes: Uint8Array, file: string): WordsFile {
  const { text, catalogue } = parseWords(bytes, file);
  const language = header(catalogue, 'Language');
  if (!/^[A-Za-z]{2,8}(?:[-_][A-Za-z0-9]{1,8})*$/.test(language))
    fail('WORDS_FILE', `its head names no language (Language: ${language})`, {
      at: { file, ...lineOf(text, '') },
      hint: 'a tag such as de or pt-BR',
    });
  const pluralForms = header(catalogue, 'Plural-Forms');
  const rule = pluralRuleOf(pluralForms, file, lineOf(text, ''));
  const { forms } = rule;
  const ofOne = formOfOneAlone(rule);
  const messages: Record<string, string | string[]> = {};
  const problems: Problem[] = [];
  for (const entry of entriesOf(catalogue)) {
    const given = entry.msgstr.filter((s) => s !== '');
    if (given.length === 0 || isFuzzy(entry)) continue;
    const fault =
      entry.msgid_plural === undefined || given.length === forms
        ? given.map((s, i) => faultIn(entry, s, i === ofOne)).find((f) => f !== undefined)
        : `it has ${given.length} of ${forms} plural forms`;
    if (fault === undefined)
      messages[keyOf(entry.msgid, entry.msgctxt)] = entry.msgid_plural === undefined ? given[0]! : given;
    else
      problems.push(
        warning('WORDS_MESSAGE', `a translation is not used: ${fault}`, {
          at: { file, ...lineOf(text, entry.msgid, entry.msgctxt) },
          seen: given[0]!,
          hint: `what has the same places as '${entry.msgid}'`,
        }),
      );
  }
  const [decimal, thousands] = signs.map((context, i) => messages[keyOf(i === 0 ? '.' : '\u202f', context)]);
  // What is not translated is as in English.
  if (thousands !== undefined && thousands === (decimal ?? '.')) {
    delete messages[keyOf('\u202f', signs[1])];
    problems.push(
      warning('WORDS_MESSAGE', 'the decimal sign stands between thousands too, where it is not used', {
        at: { file, ...lineOf(text, '\u202f', signs[1]) },
      }),
    );
  }
  return { words: { language: language.replaceAll('_', '-'), pluralForms, messages }, problems };
}

/** The form that no count but one takes; undefined where one shares its form with others, as 21 and 31 in many languages. */
function formOfOneAlone({ formOf }: PluralForms): number | undefined {
  const form = formOf(1);
  for (let n = 0; n <= 1000; n++) if (n !== 1 && formOf(n) === form) return undefined;
  return form;
}

/** @param ofOne true of the form of a plural that is said of one alone, which may leave out its number: 'of which one lasts' */
function faultIn(
  { msgid, msgctxt, msgid_plural }: GetTextTranslation,
  translation: string,
  ofOne: boolean,
): string | undefined {
  if (msgctxt === 'minus sign')
    return /^[-\u2212\u2012\u2013\ufe63\uff0d]$/.test(translation) ? undefined : 'it is no minus sign';
  if (msgctxt === 'decimal sign' && !/^[^\s+\-\u2212]+$/u.test(translation))
    return 'it is no sign that stands between digits';
  if (msgctxt !== undefined && signs.includes(msgctxt))
    return /^[^\p{L}\p{N}{}<>+\-\u2212]{1,2}$/u.test(translation)
      ? undefined
      : 'it is no sign of one or two characters';
  const fault = faultOf(msgid_plural ?? msgid, translation);
  return fault !== undefined &&
    ofOne &&
    msgid_plural !== undefined &&
    faultOf(msgid, translation) === undefined
    ? undefined
    : fault;
}

function pluralRuleOf(pluralForms: string, file: string, at: { line?: number }): PluralForms {
  try {
    return readPluralForms(pluralForms);
  } catch (error) {
    if (!(error instanceof RangeError)) throw error;
    return fail('WORDS_FILE', `its Plural-Forms cannot be used: ${error.message}`, {
      at: { file, ...at },
      seen: pluralForms,
      hint: 'nplurals=2; plural=(n != 1);',
    });
  }
}

/** The text of a PO file and what stands in it. Throws WORDS_FILE where it is none. */
export function parseWords(
  bytes: Uint8Array,
  file: string,
): { readonly text: string; readonly catalogue: GetTextTranslations } {
  let text: string;
  try {
    text = new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    return fail('WORDS_FILE', 'it is not text in UTF-8', { at: { file }, hint: 'the file saved as UTF-8' });
  }
  try {
    const catalogue = po.parse(text, { validation: true });
    // A file without a head is parsed to one without headers, whatever its type says.
    const { headers } = catalogue as Partial<GetTextTranslations>;
    if (headers === undefined || Object.keys(headers).length === 0)
      return fail('WORDS_FILE', 'it has no head', {
        at: { file },
        hint: 'a PO file as `stillmark words` writes it',
      });
    return { text, catalogue };
  } catch (error) {
    if (!(error instanceof SyntaxError || error instanceof RangeError)) throw error;
    const line = /at line (\d+)/.exec(error.message)?.[1];
    return fail(
      'WORDS_FILE',
      `it is no sound PO file: ${error.message.replace(/^Error parsing PO data: /, '')}`,
      {
        at: { file, ...(line === undefined ? {} : { line: Number(line) }) },
        hint: 'the file as an editor of PO files writes it',
      },
    );
  }
}

export function header({ headers }: GetTextTranslations, name: string): string {
  return Object.entries(headers).find(([key]) => key.toLowerCase() === name.toLowerCase())?.[1] ?? '';
}

/** All entries but the head. */
export function entriesOf({ translations }: GetTextTranslations): GetTextTranslation[] {
  return Object.values(translations)
    .flatMap((context) => Object.values(context))
    .filter(({ msgid, msgctxt }) => msgid !== '' || msgctxt !== undefined);
}

export function isFuzzy({ comments }: GetTextTranslation): boolean {
  return comments?.flag?.split(',').some((flag) => flag.trim() === 'fuzzy') ?? false;
}

/** How many messages of the site these words say. */
export function countTranslated(messages: readonly SiteMessage[], { messages: own }: Words): number {
  return messages.filter(({ id, context }) => Object.hasOwn(own, keyOf(id, context))).length;
}

/** The line on which an entry begins. */
function lineOf(text: string, msgid: string, msgctxt?: string): { line?: number } {
  const lines = text.split('\n');
  const stringFrom = (at: number): string => {
    let out = '';
    for (let i = at; i < lines.length; i++) {
      const quoted = /^\s*(?:msgid|msgctxt)?\s*"((?:[^"\\]|\\.)*)"\s*$/.exec(lines[i]!);
      if (!quoted || (i > at && /^\s*msg/.test(lines[i]!))) break;
      out += quoted[1]!.replace(/\\(.)/g, (_, c: string) => ({ n: '\n', t: '\t', r: '\r' })[c] ?? c);
    }
    return out;
  };
  let context: string | undefined;
  for (const [i, line] of lines.entries()) {
    if (/^\s*$/.test(line)) context = undefined;
    if (/^\s*msgctxt\s/.test(line)) context = stringFrom(i);
    if (/^\s*msgid\s/.test(line) && stringFrom(i) === msgid && context === msgctxt) return { line: i + 1 };
  }
  return {};
}
