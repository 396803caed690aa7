import { describe, expect, test } from 'vitest';
import { speakAstro } from './astro-messages.ts';
import { messagesOfCode } from './code-messages.ts';
import type { Node } from './syntax.ts';
import { parseSync } from 'vite';

const idsOf = (source: string): string[] => speakAstro(source, 'say').messages.map(({ id }) => id);

describe('text of pages', () => {
  test('a sentence is one message, with places for figures and elements', () => {
    const { messages, code } = speakAstro(
      '<p>\n  Each holds with {sure}; see\n  <a href={`${root}x.html`}>how</a>.\n</p>',
      'say',
    );
    expect(messages).toEqual([{ id: 'Each holds with {0}; see <1>how</1>.', places: ['sure', '<a>'] }]);
    // English comes out as it went in, line breaks and all.
    expect(code).toContain(
      '["\\n  Each holds with ", 0, "; see\\n  ", [1, "how"], ".\\n"], [() => (sure), ($c) => <a href={`${root}x.html`}>{$c}</a>]',
    );
  });

  test('what is written in braces to keep a space is text', () => {
    expect(idsOf("<p>toward{' '}\n  {x}{'\\u202f'}mm</p>")).toEqual(['toward {0}\u202fmm']);
  });

  test('blocks, and what is drawn for each of a list, are messages of their own', () => {
    expect(idsOf('<div>First<p>second</p>{all.map((x) => <li>third {x}</li>)}</div>')).toEqual([
      'First',
      'second',
      'third {0}',
    ]);
  });

  test('attributes that are read are messages, others are not', () => {
    const { messages, code } = speakAstro(
      '<Sheet title="How far?" here="a b"><p aria-label="Where" class="some thing" /></Sheet>',
      'say',
    );
    expect(messages.map(({ id }) => id).sort()).toEqual(['How far?', 'Where']);
    expect(code).toContain('<Sheet title={$t`How far?`} here="a b">');
  });

  test('units, signs and scripts are none', () => {
    expect(idsOf('<p>{x} mm, ± {y} °C</p><script is:inline>const some = "word";</script>')).toEqual([]);
  });
});

test('messages of code: templates, contexts, plurals, counts and names', () => {
  const source = [
    'const short = inContext("date, short");',
    'const names = ["one", "two"] as const;',
    't`${a} of ${b}`; short`${d} ${m}`; other`no message`;',
    'plural(n, msg`${n} fell`, msg`${n} have fallen`);',
    'count(n, "duty", "duties"); count(n, "day");',
    'translated(names, "number"); translated({ a: "yes", b: ["no"] });',
  ].join('\n');
  const { program } = parseSync('a.ts', source);
  expect(messagesOfCode(program as unknown as Node, source)).toEqual([
    { id: '{0} of {1}', places: ['a', 'b'] },
    { id: '{0} {1}', places: ['d', 'm'], context: 'date, short' },
    { id: '{0} fell', plural: '{0} have fallen', places: ['n'] },
    { id: '{0} duty', plural: '{0} duties', places: ['number'] },
    { id: '{0} day', plural: '{0} days', places: ['number'] },
    { id: 'one', places: [], context: 'number' },
    { id: 'two', places: [], context: 'number' },
    { id: 'yes', places: [] },
    { id: 'no', places: [] },
  ]);
});

test('a count of what is not written out is told when the renderer is built', () => {
  const source = 'count(n, name);';
  const { program } = parseSync('a.ts', source);
  expect(() => messagesOfCode(program as unknown as Node, source)).toThrow(
    /not written out: count\(n, name\)/,
  );
});
