/** The code of a thread of `station-pool.ts`: answers each view with its analysis. */
import { parentPort, workerData } from 'node:worker_threads';
import { ProblemError } from '@stillmark/problems';
import { rememberIn } from './memory.ts';
import type { Answer, WorkerData } from './station-pool.ts';
import { analysisOf, type View } from './views.ts';

const { project, asOfMs, readings, memory } = workerData as WorkerData;
const analyse = analysisOf(project, asOfMs, readings, memory && rememberIn(memory));

parentPort!.on('message', ({ number, view }: { number: number; view: View }) => {
  let answer: Answer;
  try {
    answer = { number, analysis: analyse(view) };
  } catch (error) {
    answer =
      error instanceof ProblemError
        ? { number, problems: error.problems }
        : { number, error: error as Error };
  }
  parentPort!.postMessage(answer);
});
