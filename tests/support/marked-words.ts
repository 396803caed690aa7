import { readdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { po } from 'gettext-parser';
import { parse, type DefaultTreeAdapterTypes } from 'parse5';
import { mustRun } from './command.ts';

/** Writes a file of translations by a function of the English text between the places of a message. */
export async function translateAll(
  file: string,
  text: (english: string, context: string | undefined) => string,
): Promise<void> {
  await mustRun(['words', '--language', 'qtz', '--out', file]);
  const catalogue = po.parse(await readFile(file, 'utf8'));
  const whole = (english: string, context: string | undefined): string =>
    english
      .split(/(\{\d+\}|<\/?\d+>)/)
      .map((part, i) => (i % 2 === 1 ? part : text(part, context)))
      .join('');
  for (const entry of Object.values(catalogue.translations).flatMap((context) => Object.values(context))) {
    if (entry.msgid === '') continue;
    entry.msgstr = [entry.msgid, ...(entry.msgid_plural === undefined ? [] : [entry.msgid_plural])].map(
      (form) => whole(form, entry.msgctxt),
    );
  }
  await writeFile(file, po.compile(catalogue));
}

/** Lets a project folder speak a file of translations. */
export async function speakIn(project: string, words: string): Promise<void> {
  const file = join(project, 'project.yaml');
  await writeFile(file, `${await readFile(file, 'utf8')}\nwords: ${words}\n`);
}

const readAttributes =
  /^(?:title|aria-label|alt|data-label|placeholder|label|data-stale-text|aria-valuetext)$/;

/** Everything on a page that is read by people, piece by piece. */
export function textsOf(html: string): string[] {
  const out: string[] = [];
  const visit = (node: DefaultTreeAdapterTypes.Node): void => {
    if (node.nodeName === '#text') {
      const { value, parentNode } = node as DefaultTreeAdapterTypes.TextNode;
      if (!/^(?:script|style)$/.test(parentNode?.nodeName ?? '')) out.push(value);
    }
    if ('attrs' in node) {
      const description = node.attrs.some(({ name, value }) => name === 'name' && value === 'description');
      for (const { name, value } of node.attrs)
        if (readAttributes.test(name) || (description && name === 'content')) out.push(value);
    }
    if ('childNodes' in node) for (const child of node.childNodes) visit(child);
  };
  visit(parse(html));
  return out.map((text) => text.replace(/\s+/g, ' ').trim()).filter((text) => text !== '');
}

/** Values of a snapshot that name a choice of ours, and so must be said in words; every other string is the project's own, or a sentence that the snapshot carries. */
const chosen =
  /^(?:kind|state|condition|verdict|check|finding|quantity|side|basis|figures|format|means|severity|code|solution|axis|askedFrom|system)$/;

/** Strings of a snapshot that may stand on its pages as they are, longest first. */
export function ownStrings(snapshot: unknown): string[] {
  const out = new Set<string>();
  const collect = (value: unknown, key: string): void => {
    if (typeof value === 'string') {
      const role = key === 'role' && /^(?:base|monitoring)$/.test(value);
      if (/\p{L}/u.test(value) && !chosen.test(key) && !role) out.add(value.replace(/\s+/g, ' '));
    } else if (typeof value === 'object' && value !== null)
      for (const [name, inner] of Object.entries(value)) collect(inner, Array.isArray(value) ? key : name);
  };
  collect(snapshot, '');
  return [...out].sort((a, b) => b.length - a.length);
}

/** Written alike in every language: units of the SI and those used with it (SI brochure, 9th edition 2019), UTC, and p, the probability of a test. */
const symbols = /(?<!\p{L})(?:mm|cm|km|m|h|s|d|min|dB|dB-Hz|Hz|V|W|Wh|A|Ah|°C|UTC|kB|MB|GB|p)(?!\p{L})/gu;

/** Pieces of text that hold words outside of the marks ⟦…⟧, and beside what is the project's own. */
export function unmarked(texts: readonly string[], own: readonly string[]): string[] {
  const escaped = own.map((text) => text.replace(/[.*+?^${}()|[\]\\]/g, '\\$&'));
  const names = new RegExp(`(?<![\\p{L}])(?:${escaped.join('|')})(?![\\p{L}])`, 'gu');
  return texts.filter((text) => {
    let rest = text;
    for (let before = ''; before !== rest;) [before, rest] = [rest, rest.replace(/⟦[^⟦⟧]*⟧/g, ' ')];
    return /\p{L}{2,}/u.test(rest.replace(names, ' ').replace(symbols, ' '));
  });
}

/** Pages below a folder. */
export async function pagesIn(folder: string): Promise<string[]> {
  const files = await readdir(folder, { recursive: true, encoding: 'utf8' });
  return files.filter((file) => file.endsWith('.html')).sort();
}
