import { readPluralForms, type PluralForms } from './plural-forms.ts';

/**
 * The words of a site in another language: what stands in a file of translations, as far as it is translated. Keys are the English messages
 * with places `{0}` for what is filled in, behind their context where they have one; see {@link keyOf}.
 */
export interface Words {
  /** BCP 47 tag of the language, as it stands in `<html lang>`. */
  readonly language: string;
  /** The header of that name of the PO file. */
  readonly pluralForms: string;
  /** Translations; of what is counted one for each plural form. */
  readonly messages: Readonly<Record<string, string | readonly string[]>>;
}

/** A message that is not filled in yet. */
export interface Message {
  readonly id: string;
  readonly values: readonly unknown[];
}

interface Spoken extends Words {
  readonly plurals: PluralForms;
}

let spoken: Spoken | undefined;

/** In PO files and everything that reads them context and message are joined by EOT. */
export function keyOf(id: string, context?: string): string {
  return context === undefined ? id : `${context}\u0004${id}`;
}

/** From here on everything is said in these words; without any in English. Drawing is done one after the other, so there is one speaker. */
export function speak(words: Words | undefined): void {
  spoken = words && { ...words, plurals: readPluralForms(words.pluralForms) };
}

/** What is made while these words are spoken; afterwards those of before are again. */
export function inWords<T>(words: Words | undefined, make: () => T): T {
  const before = spoken;
  speak(words);
  try {
    return make();
  } finally {
    spoken = before;
  }
}

/** Of the words that are spoken those with these keys; undefined in English. */
export function spokenPart(keys: readonly string[]): Words | undefined {
  if (!spoken) return undefined;
  const { language: tag, pluralForms, messages } = spoken;
  return {
    language: tag,
    pluralForms,
    messages: Object.fromEntries(
      keys.flatMap((key) => (Object.hasOwn(messages, key) ? [[key, messages[key]!]] : [])),
    ),
  };
}

/** BCP 47 tag of the language that is spoken. */
export function language(): string {
  return spoken?.language ?? 'en';
}

/** The translation of a message; undefined where there is none. Of what is counted the form that other numbers than one take. */
export function translationOf(id: string, context?: string): string | undefined {
  const own = entryOf(id, context);
  return typeof own === 'string' ? own : own?.at(-1);
}

function entryOf(id: string, context?: string): string | readonly string[] | undefined {
  if (!spoken) return undefined;
  const key = keyOf(id, context);
  return Object.hasOwn(spoken.messages, key) ? spoken.messages[key] : undefined;
}

/** The English text of a template as the key that translations are kept under: `{0} of {1} days observed`. */
export function idOf(parts: readonly string[]): string {
  return parts.map((part, i) => (i === 0 ? part : `{${i - 1}}${part}`)).join('');
}

/** A message by its English template, for {@link plural}. */
export function msg(parts: TemplateStringsArray, ...values: readonly unknown[]): Message {
  return { id: idOf(parts), values };
}

/** What an English template says, in the words that are spoken. */
export function t(parts: TemplateStringsArray, ...values: readonly unknown[]): string {
  return said(idOf(parts), values);
}

/** As {@link t}, of words that mean different things in different places: `inContext('axis')\`up\``. */
export function inContext(context: string): typeof t {
  return (parts, ...values) => said(idOf(parts), values, context);
}

/** Spaces around a message belong to where it stands, and not to it. */
export function trimmed(id: string): string {
  return id.replace(/^[ \n]+|[ \n]+$/g, '');
}

function said(id: string, values: readonly unknown[], context?: string): string {
  const own = trimmed(id);
  const text = filled(translationOf(own, context), own, values);
  return own.length === id.length ? text : id.replace(own, () => text);
}

function filled(translation: string | undefined, id: string, values: readonly unknown[]): string {
  const shown = (value: unknown): string =>
    translation !== undefined && typeof value === 'number' ? localDigits(String(value)) : String(value);
  return (translation ?? id).replace(/\{(\d+)\}/g, (whole, n: string) =>
    Number(n) < values.length ? shown(values[Number(n)]) : whole,
  );
}

/** One message or the other by a count, in as many forms as the language has. Both must name the same places. */
export function plural(n: number, one: Message, many: Message): string {
  const entry = entryOf(trimmed(one.id));
  const english = n === 1 ? one : many;
  const forms = typeof entry === 'string' ? [entry] : entry;
  const form = forms?.[Math.min(forms.length - 1, spoken?.plurals.formOf(n) ?? 0)];
  const [own, whole] = [trimmed(english.id), english.id];
  return whole.replace(own, () => filled(form, own, many.values));
}

/** Names by their keys, each of which is said in the words that are spoken when it is asked for. */
export function translated<const T extends object>(names: T, context?: string): Widened<T> {
  return new Proxy(names, {
    get(target, key) {
      const value: unknown = Reflect.get(target, key);
      if (typeof value === 'string') return translationOf(value, context) ?? value;
      return typeof value === 'object' && value !== null && Object.hasOwn(target, key)
        ? translated(value, context)
        : value;
    },
  }) as Widened<T>;
}

/** A frozen shape whose strings may be any: translations of what is written. */
export type Widened<T> = { readonly [K in keyof T]: T[K] extends string ? string : Widened<T[K]> };

/** A number in English digits (`−12 345.6`, or as JavaScript prints it) with the signs of the language. */
export function localDigits(english: string): string {
  if (!spoken) return english;
  const signs: Readonly<Record<string, string>> = {
    '.': inContext('decimal sign')`.`,
    '\u202f': inContext('between thousands')`\u202f`,
    '\u2212': inContext('minus sign')`\u2212`,
    '-': inContext('minus sign')`\u2212`,
  };
  return english.replace(/[.\u202f\u2212-]/g, (sign) => signs[sign]!);
}
