import { Worker } from 'node:worker_threads';
import type { StationAnalysis } from '@stillmark/analysis';
import { ProblemError, type Problem } from '@stillmark/problems';
import type { Project } from '@stillmark/project';
import type { ReadingSeries } from '@stillmark/records';
import type { MemoryPlace } from './memory.ts';
import type { View } from './views.ts';

/** What every worker is given once. */
export interface WorkerData {
  readonly project: Project;
  readonly asOfMs: number;
  readonly readings: ReadonlyMap<string, ReadingSeries>;
  readonly memory?: MemoryPlace;
}

/** What a worker answers: the analysis of the view with this number, or what it threw. */
export type Answer =
  | { readonly number: number; readonly analysis: StationAnalysis }
  | { readonly number: number; readonly error: Error }
  | { readonly number: number; readonly problems: readonly Problem[] };

/**
 * The analyses of views, in their order, computed by several threads. Each view is computed from itself alone, so that the number of
 * threads changes no bit of the result.
 *
 * Written here since pools from the registry find the file of their own worker by its address, which a command in one folder has
 * no place for.
 *
 * @param module the file whose code answers: `station-worker.ts`, or what it was built into
 */
export function analyseInThreads(
  views: readonly View[],
  data: WorkerData,
  { module, count }: { readonly module: URL; readonly count: number },
  progress: (view: View) => void,
): Promise<StationAnalysis[]> {
  if (views.length === 0) return Promise.resolve([]);
  return new Promise((resolve, reject) => {
    const out = new Array<StationAnalysis>(views.length);
    const workers: Worker[] = [];
    let next = 0;
    let done = 0;
    const end = (): unknown => Promise.all(workers.map((worker) => worker.terminate()));
    const fail = (error: Error): void => {
      void end();
      reject(error);
    };
    const give = (worker: Worker): void => {
      if (next === views.length) return;
      progress(views[next]!);
      worker.postMessage({ number: next, view: views[next] });
      next++;
    };
    for (let i = 0; i < Math.min(count, views.length); i++) {
      const worker = new Worker(module, { workerData: data });
      workers.push(worker);
      worker.on('error', fail);
      worker.on('message', (answer: Answer) => {
        if (!('analysis' in answer)) {
          // Of an error of ours a copy crosses over; a problem must stay one.
          fail('error' in answer ? answer.error : new ProblemError(answer.problems));
          return;
        }
        out[answer.number] = answer.analysis;
        done++;
        if (done === views.length) {
          void end();
          resolve(out);
        } else give(worker);
      });
      give(worker);
    }
  });
}
