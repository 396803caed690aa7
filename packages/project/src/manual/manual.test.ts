import { describe, expect, test } from 'vitest';
import { projectJsonSchema, readProject } from '../read.ts';
import { projectManual } from './manual.ts';
import { rowsOf, type SchemaNode } from './rows.ts';
import { sections } from './sections.ts';

const schema = projectJsonSchema() as SchemaNode;

test('each key of the top of the project file stands in one section', () => {
  expect(sections.flatMap(({ keys }) => keys).sort()).toEqual(Object.keys(schema.properties!).sort());
});

test('the examples show the keys of their sections, and are one sound project file together', () => {
  for (const { example, keys } of sections)
    expect([...example.matchAll(/^(\w+):/gm)].map(([, key]) => key)).toEqual(keys);
  expect(readProject(sections.map(({ example }) => example).join('')).problems).toEqual([]);
});

test('every key is explained', () => {
  const keys = Object.entries(schema.properties!).flatMap(([key, node]) => rowsOf(node, key, false));
  expect(keys.length).toBeGreaterThan(350);
  expect(keys.filter(({ says }) => !/\S.*[.?]$/.test(says)).map(({ path }) => path)).toEqual([]);
  const written = projectManual().split('## Files that commands write')[1]!;
  const unexplained = [...written.matchAll(/^\| `(\S+)` .* \| *\|$/gm)].map(([, path]) => path);
  expect(unexplained).toEqual([]);
});

describe('a row', () => {
  const rows = (node: SchemaNode): string[] =>
    rowsOf(node, 'k', false).map(({ path, value, given, says }) => [path, value, given, says].join(' | '));

  test('tells unit, bounds, an example and what holds without it', () => {
    expect(
      rows({
        type: 'string',
        title: 'length (mm, cm, m)',
        examples: ['10 mm', '1 cm'],
        default: '1 mm',
        description: 'How far.',
      }),
    ).toEqual(['k | length (mm, cm, m), such as `10 mm` | no: `1 mm` | How far.']);
    expect(
      rows({
        type: 'number',
        title: 'angle in degrees',
        minimum: 0,
        exclusiveMaximum: 360,
        description: 'Whither.',
      }),
    ).toEqual(['k | angle in degrees, at least 0, less than 360 | no | Whither.']);
    expect(rows({ type: 'integer', minimum: 1, maximum: Number.MAX_SAFE_INTEGER })).toEqual([
      'k | whole number, at least 1 | no | ',
    ]);
  });

  test('of a list is followed by the keys of its entries, those of a shape with the key that tells it', () => {
    const shape = (kind: string, key: string): SchemaNode => ({
      properties: {
        kind: { const: kind, description: 'The shape.' },
        [key]: { type: 'number', description: 'It.' },
      },
      required: ['kind', key],
    });
    expect(
      rows({
        type: 'array',
        minItems: 1,
        items: { oneOf: [shape('round', 'radius'), shape('square', 'side')] },
      }),
    ).toEqual([
      'k | list, at least 1 | no | ',
      'k[].kind | `round` | yes | The shape.',
      'k[].radius | number | yes | With `kind: round`. It.',
      'k[].kind | `square` | yes | The shape.',
      'k[].side | number | yes | With `kind: square`. It.',
    ]);
  });
});
