import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { ProblemError } from '@stillmark/problems';
import { describe, expect, test } from 'vitest';
import { operations, type Given } from './operations.ts';

interface Tolerance {
  readonly value: string;
  readonly unit: string;
  readonly why: string;
}

interface Case {
  readonly name: string;
  readonly given: Given;
  readonly expect?: Readonly<Record<string, string>>;
  /** Code of the problem that the case must end with. */
  readonly expectError?: string;
  readonly tolerance?: Tolerance;
  /** For single quantities that are in another unit than the rest. */
  readonly tolerances?: Readonly<Record<string, string>>;
}

interface CaseFile {
  readonly source: string;
  readonly operation: string;
  readonly tolerance?: Tolerance;
  readonly cases: readonly Case[];
}

const folder = fileURLToPath(import.meta.resolve('@stillmark/data/worked-examples'));
const files = readdirSync(folder, { recursive: true, encoding: 'utf8' })
  .filter((name) => name.endsWith('.json'))
  .sort();

/** Half of the last printed digit, where a case names no tolerance. */
function halfDigit(printed: string): number {
  const decimals = printed.split('.')[1]?.length ?? 0;
  return 0.5 * 10 ** -decimals;
}

test('there are worked examples', () => expect(files.length).toBeGreaterThanOrEqual(5));

describe.each(files)('%s', (name) => {
  const file = JSON.parse(readFileSync(join(folder, name), 'utf8')) as CaseFile;
  const operation = operations[file.operation];

  test('names its source and a known operation', () => {
    expect(file.source.length).toBeGreaterThan(20);
    expect(operation).toBeDefined();
  });

  test.each(file.cases)('$name', (example) => {
    if (example.expectError !== undefined) {
      let thrown: unknown;
      try {
        operation!(example.given);
      } catch (error) {
        thrown = error;
      }
      expect(thrown).toBeInstanceOf(ProblemError);
      expect((thrown as ProblemError).problems.map((p) => p.code)).toContain(example.expectError);
      return;
    }
    const expected = Object.entries(example.expect ?? {});
    expect(expected.length).toBeGreaterThan(0);
    const actual = operation!(example.given);
    const tolerance = example.tolerance ?? file.tolerance;
    for (const [quantity, printed] of expected) {
      const within = Number(example.tolerances?.[quantity] ?? tolerance?.value ?? halfDigit(printed));
      const difference = Math.abs(actual[quantity]! - Number(printed));
      expect(
        difference,
        `${quantity}: actual ${actual[quantity]}, printed ${printed}, tolerance ${within} ${tolerance?.unit ?? ''}`,
      ).toBeLessThanOrEqual(within);
    }
  });
});
