import { readTestField } from '@stillmark/formats';
import { benchTest, type BenchResult, type BenchTask } from '@stillmark/planning';
import { fail, problem, ProblemError, type Problem } from '@stillmark/problems';
import type { Effects } from './effects.ts';

export type BenchAsked = Omit<BenchTask, 'measurements'> & { readonly file: string };

/**
 * Acceptance of a receiver from a file of measurements on a test field, by the statistics of ISO 17123-8.
 *
 * @returns with a problem where the receiver does not pass
 * @throws USE_FILE_MISSING, the problems of the file's rows (all at once), ESTIMATION_INPUT where the measurements are no test
 */
export async function bench(
  { file, nominal, stated }: BenchAsked,
  { files }: Effects,
): Promise<{ result: BenchResult; problems: Problem[] }> {
  const bytes = (await files.kind(file)) === 'file' ? await files.read(file) : undefined;
  if (!bytes)
    return fail('USE_FILE_MISSING', 'there is no such file', {
      at: { file },
      hint: 'a CSV file with the columns series, set, point, x, y, h',
    });
  const { rows, rejected } = readTestField(bytes, file);
  if (rejected.length > 0) throw new ProblemError(rejected.map((r) => r.problem));
  const result = benchTest({ measurements: rows, nominal, stated });
  if (typeof result === 'string')
    return fail('ESTIMATION_INPUT', `the measurements are no test: ${result}`, {
      at: { file },
      hint: 'one series of five sets, or three, each set measuring both points once',
    });
  const problems = result.passed
    ? []
    : [problem('BENCH_REJECTED', 'the measurements do not show what is stated of the receiver', { at: { file } })]; // prettier-ignore
  return { result, problems };
}
