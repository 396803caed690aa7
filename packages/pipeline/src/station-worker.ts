/** The code of the threads of `threads.ts`: answers each view with its analysis, and each series and log with its files. */
import { parentPort } from 'node:worker_threads';
import type { StationAnalysis } from '@stillmark/analysis';
import { ProblemError } from '@stillmark/problems';
import { rememberIn } from './memory.ts';
import { filesOf } from './series-files.ts';
import type { Answer, Told } from './threads.ts';
import { analysisOf, type View } from './views.ts';

let analyse: ((view: View) => StationAnalysis) | undefined;

parentPort!.on('message', (told: Told) => {
  if ('begin' in told) {
    const { project, asOfMs, readings, memory } = told.begin;
    analyse = analysisOf(project, asOfMs, readings, memory && rememberIn(memory));
    return;
  }
  const { number } = told;
  let answer: Answer;
  try {
    answer = { number, value: 'view' in told ? analyse!(told.view) : filesOf(told.files) };
  } catch (error) {
    answer =
      error instanceof ProblemError
        ? { number, problems: error.problems }
        : { number, error: error as Error };
  }
  parentPort!.postMessage(answer);
});
