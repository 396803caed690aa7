import { access, readdir, readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import type { Snapshot, TriggerRecord } from '@stillmark/records';
import { stateWords, triggerStateText } from '@stillmark/wording';
import { expect, inject, test } from 'vitest';
import { templateFile } from '../support/words-template.ts';

// What the manual says that a site says is said there; and links of the manuals lead somewhere.
const docs = fileURLToPath(new URL('../../apps/cli/docs/', import.meta.url));

/** Text of a page as it is read, without tags; the thin spaces of figures are blanks. */
const readable = (html: string): string =>
  html
    .replaceAll(/<(script|style)[^>]*>[^]*?<\/\1>/g, ' ')
    .replaceAll(/<[^>]*>/g, '')
    .replaceAll(/\s+/g, ' ');

async function pagesOf(site: string): Promise<string[]> {
  const files = (await readdir(site, { recursive: true })).filter((file) => file.endsWith('.html'));
  return Promise.all(files.map(async (file) => readable(await readFile(join(site, file), 'utf8'))));
}

/** States in which no station of the demos is. */
function stateTexts(snapshot: Snapshot): string[] {
  const trigger: TriggerRecord = snapshot.triggers[0]!;
  const conditions = ['measured', 'establishing', 'stale', 'no-data', 'in-doubt', 'ended'] as const;
  return [
    ...Object.values(stateWords),
    ...conditions.flatMap((condition) =>
      [0, 1].map((level) => triggerStateText(trigger, { condition, level })),
    ),
  ].map((text) => text.replaceAll(/\s+/g, ' '));
}

test('every quotation of the manual of the site is printed by a site', async () => {
  const manual = await readFile(join(docs, 'reading-the-site.md'), 'utf8');
  const snapshot = JSON.parse(
    await readFile(join(inject('larkmoorSite'), 'snapshot.json'), 'utf8'),
  ) as Snapshot;
  const printed = [
    ...(await pagesOf(inject('larkmoorSite'))),
    ...(await pagesOf(inject('demoSite'))),
    ...stateTexts(snapshot),
    // What scripts say is on no page before something is done with it.
    (await readFile(templateFile, 'utf8')).replaceAll('"\n"', ''),
  ];
  const parts = [...manual.matchAll(/“([^”]+)”/g)].flatMap(([, quoted]) =>
    quoted!.split('…').map((part) => part.replaceAll(/\s+/g, ' ').trim()),
  );
  const told = [...new Set(parts)].filter((part) => part.length > 1 && part !== 'double quotes');
  expect(told.length).toBeGreaterThan(50);
  expect(told.filter((part) => !printed.some((text) => text.includes(part)))).toEqual([]);
});

test('every state of a station stands in its table, with its words', async () => {
  const manual = await readFile(join(docs, 'reading-the-site.md'), 'utf8');
  const rows = [...manual.matchAll(/^\| [^\s\w] \| “([^”]+)” \|/gm)].map(([, words]) => words);
  expect(new Set(rows)).toEqual(new Set(Object.values(stateWords)));
  expect(rows).toHaveLength(Object.keys(stateWords).length);
});

test('links between the manuals lead to files and headings that are there', async () => {
  const texts = new Map<string, string>();
  for (const file of (await readdir(docs)).filter((name) => name.endsWith('.md')))
    texts.set(file, await readFile(join(docs, file), 'utf8'));
  const files = await readdir(docs, { recursive: true });
  const anchors = (text: string): string[] =>
    [...text.matchAll(/^#+ (.*)$/gm)].map(([, heading]) =>
      heading!
        .toLowerCase()
        .replaceAll(/[^\w\- ]/g, '')
        .replaceAll(' ', '-'),
    );
  let links = 0;
  for (const [name, text] of texts)
    for (const [, target] of text.matchAll(/\]\((?!https?:)([^)]+)\)/g)) {
      const [file, anchor] = target!.split('#') as [string, string?];
      const own = file === '' ? name : file;
      expect(files, `${name}: ${target}`).toContain(own);
      if (anchor !== undefined) expect(anchors(texts.get(own)!), `${name}: ${target}`).toContain(anchor);
      links++;
    }
  expect(links).toBeGreaterThan(10);
});

test('the coverage that the methods tell is that of the notes on numbers', async () => {
  const notes = await readFile(fileURLToPath(new URL('../../DEVELOPERS.md', import.meta.url)), 'utf8');
  const manual = await readFile(join(docs, 'methods.md'), 'utf8');
  const section = manual.split('## Measured coverage')[1]!.split('\n## ')[0]!;
  const rows = [...section.matchAll(/^\|([^|]*)\|([^|]*)\|([^|]*)\|/gm)].slice(2);
  expect(rows.length).toBeGreaterThan(8);
  for (const [, what, , found] of rows)
    for (const [figure] of found!.matchAll(/\d+(?:\.\d+)?/g))
      expect(notes, `${what}: ${figure}`).toMatch(new RegExp(`\\b${figure.replace('.', String.raw`\.`)}\\b`));
});

test('every benchmark has its row, and every command of the page is there', async () => {
  const page = await readFile(join(docs, 'benchmarks.md'), 'utf8');
  const tests = fileURLToPath(new URL('../', import.meta.url));
  const named = new Set([...page.matchAll(/`node (tests\/[\w-]+\/[\w-]+\.ts)/g)].map(([, file]) => file!));
  for (const file of named) await expect(access(join(tests, '..', file))).resolves.toBe(undefined);
  const files = await readdir(join(tests, 'benchmarks'));
  expect(files.filter((file) => !named.has(`tests/benchmarks/${file}`))).toEqual([]);
});
