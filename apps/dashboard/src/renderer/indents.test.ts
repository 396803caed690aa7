import { parse, serialize } from 'parse5';
import { expect, test } from 'vitest';
import { withoutIndents } from './indents.ts';

test('indents go, and what is read stays', () => {
  const page = `<!doctype html>
<html>
  <body>
    <p title="a
      b > c">One  word, \u00a0 <b>bold</b>
      and
          the rest   </p>
  </body>
</html>
`;
  expect(withoutIndents(page)).toBe(`<!doctype html>
<html>
<body>
<p title="a
      b > c">One  word, \u00a0 <b>bold</b>
and
the rest   </p>
</body>
</html>
`);
});

test('what stands in style, script, preformatted text and text fields is not touched', () => {
  for (const name of ['style', 'script', 'pre', 'textarea']) {
    const page = `<${name} class="x">\n   a\n   <b\n</${name}>`;
    expect(withoutIndents(page)).toBe(page);
  }
});

// HTML Living Standard, 13.1.2.3: attribute values may hold any of < > and line breaks; parsed by parse5, the document differs in runs of spaces only.
test('a parser finds the same elements and attributes', () => {
  const page = `<body>\n  <a data-x='{"a":"<b>\n  c"}'\n   href="?a=1&amp;b">x</a>\n  <svg viewBox="0 0 1 1">\n  <path d="M0 0"/></svg></body>`;
  const shape = (html: string): string => serialize(parse(html)).replaceAll(/>\s+/g, '>');
  expect(shape(withoutIndents(page))).toBe(shape(page));
});
