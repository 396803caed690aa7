import { Worker } from 'node:worker_threads';
import type { StationAnalysis } from '@stillmark/analysis';
import { ProblemError, type Problem } from '@stillmark/problems';
import type { Project } from '@stillmark/project';
import type { ReadingSeries } from '@stillmark/records';
import type { MemoryPlace } from './memory.ts';
import type { LogTask, SeriesFile, SeriesTask } from './series-files.ts';
import type { View } from './views.ts';

/** What all views of a project are analysed with. */
export interface AnalysisData {
  readonly project: Project;
  readonly asOfMs: number;
  readonly readings: ReadonlyMap<string, ReadingSeries>;
  readonly memory?: MemoryPlace;
}

/** What a thread is told: with what views are analysed from here on; or a job, by its number. */
export type Told =
  | { readonly begin: AnalysisData }
  | { readonly number: number; readonly view: View }
  | { readonly number: number; readonly files: SeriesTask | LogTask };

/** What a thread answers: what came of the job with this number, or what it threw. */
export type Answer =
  | { readonly number: number; readonly value: unknown }
  | { readonly number: number; readonly error: Error }
  | { readonly number: number; readonly problems: readonly Problem[] };

interface Job {
  readonly told: Told;
  readonly begun: () => void;
  readonly resolve: (value: unknown) => void;
  readonly reject: (error: Error) => void;
}

type Work = { readonly view: View } | { readonly files: SeriesTask | LogTask };

/** So many pieces a thread has before it: while this thread is busy, it goes on with the next. */
const ahead = 2;

/**
 * Threads for what can be computed piece by piece. Each piece is computed from itself alone, so that the number of threads changes no bit
 * of a result. They start when they are asked for first, and keep no command from ending.
 *
 * Written here since pools from the registry find the file of their own worker by its address, which a command in one folder has
 * no place for.
 */
export class Threads {
  readonly #module: URL;
  readonly #count: number;
  /** What each of them has before it, in numbers of pieces. */
  readonly #workers = new Map<Worker, number>();
  readonly #jobs = new Map<number, Job>();
  #waiting: number[] = [];
  #next = 0;
  #begin: Told | undefined;

  /** @param module the file whose code answers: `station-worker.ts`, or what it was built into */
  constructor(module: URL, count: number) {
    this.#module = module;
    this.#count = count;
  }

  /** Starts them, so that they are ready when there is something to do. */
  start(): void {
    while (this.#workers.size < this.#count) this.#add();
  }

  /** The analyses of views, in their order. */
  analyse(
    views: readonly View[],
    data: AnalysisData,
    progress: (view: View) => void,
  ): Promise<StationAnalysis[]> {
    if (views.length === 0) return Promise.resolve([]);
    this.#begin = { begin: data };
    for (const worker of this.#workers.keys()) worker.postMessage(this.#begin);
    return Promise.all(
      views.map((view) => this.#run({ view }, () => progress(view)) as Promise<StationAnalysis>),
    );
  }

  /** A series or a log as the files of a snapshot. */
  encode(files: SeriesTask | LogTask): Promise<SeriesFile[]> {
    return this.#run({ files }) as Promise<SeriesFile[]>;
  }

  /** Ends them, whatever they do. */
  async end(): Promise<void> {
    const workers = [...this.#workers.keys()];
    this.#workers.clear();
    await Promise.all(workers.map((worker) => worker.terminate()));
  }

  #run(work: Work, begun: () => void = () => {}): Promise<unknown> {
    this.start();
    return new Promise((resolve, reject) => {
      const number = this.#next++;
      this.#jobs.set(number, { told: { number, ...work }, begun, resolve, reject });
      this.#waiting.push(number);
      const [worker] = [...this.#workers].reduce((a, b) => (b[1] < a[1] ? b : a));
      this.#give(worker);
    });
  }

  #add(): void {
    const worker = new Worker(this.#module);
    worker.unref();
    // What is said to a thread before it is there holds the process again once it is.
    worker.on('online', () => {
      if (this.#workers.get(worker) === 0) worker.unref();
    });
    worker.on('error', (error: Error) => this.#fail(error));
    worker.on('messageerror', (error: Error) => this.#fail(error));
    // One that ends without having been told to takes what it was given with it.
    worker.on('exit', (code) => {
      if (this.#workers.has(worker)) this.#fail(new Error(`a thread ended by itself (${code})`));
    });
    worker.on('message', (answer: Answer) => {
      const job = this.#jobs.get(answer.number);
      this.#jobs.delete(answer.number);
      this.#workers.set(worker, (this.#workers.get(worker) ?? 1) - 1);
      this.#give(worker);
      if ('value' in answer) job?.resolve(answer.value);
      // Of an error of ours a copy crosses over; a problem must stay one.
      else job?.reject('error' in answer ? answer.error : new ProblemError(answer.problems));
    });
    if (this.#begin) worker.postMessage(this.#begin);
    this.#workers.set(worker, 0);
  }

  #give(worker: Worker): void {
    // One that was ended meanwhile is given nothing.
    let held = this.#workers.get(worker) ?? ahead;
    for (; held < ahead && this.#waiting.length > 0; held++) {
      const { told, begun } = this.#jobs.get(this.#waiting.shift()!)!;
      // The process lives as long as something is being computed.
      worker.ref();
      begun();
      worker.postMessage(told);
      this.#workers.set(worker, held + 1);
    }
    if (held === 0) worker.unref();
  }

  #fail(error: Error): void {
    const jobs = [...this.#jobs.values()];
    this.#jobs.clear();
    this.#waiting = [];
    void this.end();
    for (const { reject } of jobs) reject(error);
  }
}
