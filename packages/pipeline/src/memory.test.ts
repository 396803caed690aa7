import { mkdtempSync, readdirSync, rmSync, utimesSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { deserialize, serialize } from 'node:v8';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { keyOf, rememberIn, sweepMemory } from './memory.ts';

let folder: string;
beforeEach(() => (folder = mkdtempSync(join(tmpdir(), 'stillmark-memory-'))));
afterEach(() => rmSync(folder, { recursive: true }));

describe('the key of plain data', () => {
  const data = {
    slots: Float64Array.of(1, 2, 3),
    n: 3,
    of: ['a', undefined, null, true, { at: 1.5 }],
  };

  test('is the same for equal values, however they are held', () => {
    expect(keyOf(deserialize(serialize(data)))).toBe(keyOf(data));
    const three = 1.5 + 1.5;
    expect(keyOf({ ...data, n: three })).toBe(keyOf(data));
    expect(keyOf({ ...data, slots: Float64Array.of(0, 1, 2, 3).subarray(1) })).toBe(keyOf(data));
  });

  test('is another one for every value that differs', () => {
    const all = [
      [],
      {},
      '',
      'n',
      0,
      -0,
      1,
      '1',
      true,
      'true',
      null,
      undefined,
      'null;',
      [1],
      [1, 2],
      [[1], 2],
      [[1, 2]],
      [['1'], '2'],
      ['1', ['2']],
      ['12'],
      { a: 1 },
      { b: 1 },
      { a: 1, b: undefined },
      { a: [1] },
      [{ a: 1 }],
      Float64Array.of(1),
      Float64Array.of(1, 2),
      Int32Array.of(1, 0),
      Float32Array.of(1),
      Number.NaN,
      Math.PI,
      Math.PI + 2e-15,
      'é',
      'e',
    ];
    expect(new Set(all.map(keyOf)).size).toBe(all.length);
  });

  test('what is no plain data has none', () => {
    expect(() => keyOf([new Map()])).toThrow('plain data');
    expect(() => keyOf({ of: () => 1 })).toThrow('plain data');
  });
});

test('a result is computed once for the same code, name and inputs, and given as it was', () => {
  let computed = 0;
  const ask = (code: string, name: string, input: number): unknown =>
    rememberIn({ folder, code })(name, [input], () => ({ at: Float64Array.of(input, ++computed) }));
  const first = ask('a', 'x', 1);
  expect(ask('a', 'x', 1)).toEqual(first);
  for (const [code, name, input] of [
    ['b', 'x', 1],
    ['a', 'y', 1],
    ['a', 'x', 2],
  ] as const)
    expect(ask(code, name, input)).not.toEqual(first);
  expect(computed).toBe(4);
});

test('what is old is thrown away, and of too much what was used longest ago', () => {
  const now = Date.parse('2026-11-23T08:00:00Z');
  const day = 86_400_000;
  const put = (name: string, days: number, bytes: number): void => {
    const path = join(folder, name);
    writeFileSync(path, new Uint8Array(bytes));
    utimesSync(path, new Date(now - days * day), new Date(now - days * day));
  };
  put('new', 0, 400);
  put('used', 2, 400);
  put('idle', 30, 400);
  put('old', 61, 1);
  put('stopped.partial', 2, 1);
  put('underway.partial', 0.1, 1);
  sweepMemory({ folder, code: '' }, now, 1000);
  expect(readdirSync(folder).sort()).toEqual(['new', 'underway.partial', 'used']);
  sweepMemory({ folder, code: '' }, now);
  expect(readdirSync(folder).sort()).toEqual(['new', 'underway.partial', 'used']);
});
