import { parseSync } from 'vite';
import { describe, expect, test } from 'vitest';
import { treeOf } from './astro-messages.ts';
import { fragmentsOf } from './fragments.ts';
import type { Node } from './syntax.ts';

/** Kinds of the faults of a script. */
const faultsOf = (source: string): string[] =>
  fragmentsOf(parseSync('a.ts', source).program as unknown as Node, source).map(({ kind }) => kind);
const ofPage = (source: string): string[] =>
  fragmentsOf(treeOf(source), source).map(({ line, code }) => `${line}: ${code}`);

describe('fragments of sentences', () => {
  test.each([
    ['a clause with its comma', 'const a = t`, by ${who}`;'],
    ['a clause with its space', 'const a = b ? t` since ${day}` : "";'],
    ['a bracket with its space', 'const a = b ? t` (in doubt)` : "";'],
    ['the begin of a sentence', 'const a = t`Seen from ${base}, `;'],
  ])('%s is glued', (_, source) => {
    expect(faultsOf(source)).toEqual(['glued']);
  });

  test.each([
    ['a word', 'const a = t`it is ${b ? t`enough` : t`not enough`}`;', 2],
    ['a word that may be missing', 'const a = t`${name ?? t`nobody`} wrote it`;', 1],
    ['a clause', 'const a = plural(n, msg`it fell${b && t`by itself`}`, msg`they fell`);', 1],
  ])('%s in a place is nested', (_, source, times) => {
    expect(faultsOf(source)).toEqual(Array.from({ length: times }, () => 'nested'));
  });

  test.each([
    'const a = n === 1 ? t`is` : t`are`;',
    'const a = `${n} day${n === 1 ? "" : "s"}`;',
    'const a = all.length > 1 ? t`stations` : t`station`;',
    'const a = all.length < 2 ? t`it` : t`they`;',
    'const a = n !== 1 ? "lie" : "lies";',
  ])('%s chooses as English does', (source) => {
    expect(faultsOf(source)).toEqual(['counted']);
  });

  test.each(['a.join(", ")', 'a.join("; ")', 'a.join(" and ")', 'a.map(b).join(`, `)'])(
    '%s strings together as English does',
    (source) => {
      expect(faultsOf(source)).toEqual(['listed']);
    },
  );

  test('code that puts a message beside words is found, once', () => {
    expect(faultsOf('const a = `${id}: ${b ? t`held` : t`free`}`;')).toEqual(['composed']);
  });

  test.each([
    // A sentence by itself, with the space between it and the next.
    'const a = t`It is late. `; const b = t` It is ${day}.`;',
    'const a = t`A later one is published: `;',
    'const a = b ? t`It is enough.` : t`It is not enough.`;',
    'const a = plural(n, msg`${ids} has moved`, msg`${ids} have moved`);',
    // One alone may be told in other words, where the rest has its forms.
    'const a = n === 1 ? t`It alone meets it.` : plural(n, msg`${n} meets it.`, msg`${n} meet it.`);',
    'const a = n === 1 ? 0 : n; const b = ids.length === 1 ? ids[0] : undefined;',
    'const a = list([t`one`, t`two`]); const b = t`${list(c)} moved`; const d = path.join("/");',
    'const a = t`${name}, ${value}`; const b = `${root}stations/${id}.html`;',
    'other`, by ${n}`; const a = inContext("date")`${day} ${month}`;',
  ])('%s is none', (source) => {
    expect(faultsOf(source)).toEqual([]);
  });

  test('a word in the text of a page is nested, with its line; a sentence is not', () => {
    expect(
      ofPage(
        '---\nconst b = true;\n---\n<p>Axes of {b ? t`the grid` : t`the map`} are turned.</p>\n<ul><li>It is {b && t`late`}</li></ul>',
      ),
    ).toEqual(['4: t`the grid`', '4: t`the map`', '5: t`late`']);
    expect(
      ofPage('<p>Axes are turned. {b && t`It is late. `}<b>{b ? t`one` : t`two`}</b></p><p>{t`one`}</p>'),
    ).toEqual([]);
  });

  test('in the script and in attributes of a page they are found too', () => {
    expect(
      ofPage('---\nconst a = n === 1 ? t`is` : t`are`;\n---\n<p title={t`It ${b ? t`is` : t`was`}`}></p>'),
    ).toEqual(['2: n === 1 ? t`is` : t`are`', '4: t`is`', '4: t`was`']);
  });
});
