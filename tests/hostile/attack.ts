import { formatProblem, ProblemError, type Problem } from '@stillmark/problems';
import * as fc from 'fast-check';
import type { HostileReader } from './readers.ts';
import { spoilings, spoilt } from './spoil.ts';

/** A file of some kilobytes that takes longer than this to read holds somebody up: milliseconds. */
const longestMs = 3000;

export interface Attacked {
  readonly read: number;
  readonly refused: number;
  readonly slowestMs: number;
}

/**
 * Spoils the inputs of a reader in so many ways and reads each: it must be read, or refused with problems that name the file, and
 * nothing else may happen. Throws with the least spoiling that does otherwise.
 */
export async function attack(reader: HostileReader, runs: number, seed: number): Promise<Attacked> {
  let [read, refused, slowestMs] = [0, 0, 0];
  const file = 'in/put.txt';
  const named = ({ at }: Problem): boolean => at?.file === file || at?.file.startsWith(`${file}/`) === true;
  await fc.assert(
    fc.asyncProperty(fc.nat({ max: reader.inputs.length - 1 }), spoilings, async (which, all) => {
      const bytes = spoilt(reader.inputs[which]!, all);
      const start = performance.now();
      let problems: readonly Problem[];
      try {
        problems = (await reader.read(bytes, file)).map(({ problem }) => problem);
        read++;
      } catch (error) {
        if (!(error instanceof ProblemError)) throw error;
        problems = error.problems;
        refused++;
      }
      const took = performance.now() - start;
      slowestMs = Math.max(slowestMs, took);
      if (took > longestMs) throw new Error(`it took ${Math.round(took)} ms`);
      for (const problem of problems) {
        if (!named(problem)) throw new Error(`no file is named: ${problem.message}`);
        // What is told must be printable.
        formatProblem(problem);
      }
    }),
    { numRuns: runs, seed, endOnFailure: false },
  );
  return { read, refused, slowestMs };
}
