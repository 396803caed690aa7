import { Worker } from 'node:worker_threads';
import type { StationAnalysis } from '@stillmark/analysis';
import { ProblemError, type Problem } from '@stillmark/problems';
import type { Project } from '@stillmark/project';
import type { ReadingSeries } from '@stillmark/records';
import type { MemoryPlace } from './memory.ts';
import type { SeriesFile, SeriesTask } from './series-files.ts';
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
  | { readonly number: number; readonly files: SeriesTask };

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

type Work = { readonly view: View } | { readonly files: SeriesTask };

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
  readonly #idle: Worker[] = [];
  readonly #workers: Worker[] = [];
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
    while (this.#workers.length < this.#count) this.#add();
  }

  /** The analyses of views, in their order. */
  analyse(
    views: readonly View[],
    data: AnalysisData,
    progress: (view: View) => void,
  ): Promise<StationAnalysis[]> {
    if (views.length === 0) return Promise.resolve([]);
    this.#begin = { begin: data };
    for (const worker of this.#workers) worker.postMessage(this.#begin);
    return Promise.all(
      views.map((view) => this.#run({ view }, () => progress(view)) as Promise<StationAnalysis>),
    );
  }

  /** A series as the files of a snapshot. */
  encode(files: SeriesTask): Promise<SeriesFile[]> {
    return this.#run({ files }) as Promise<SeriesFile[]>;
  }

  /** Ends them, whatever they do. */
  async end(): Promise<void> {
    this.#idle.length = 0;
    await Promise.all(this.#workers.splice(0).map((worker) => worker.terminate()));
  }

  #run(work: Work, begun: () => void = () => {}): Promise<unknown> {
    this.start();
    return new Promise((resolve, reject) => {
      const number = this.#next++;
      this.#jobs.set(number, { told: { number, ...work }, begun, resolve, reject });
      this.#waiting.push(number);
      const worker = this.#idle.pop();
      if (worker) this.#give(worker);
    });
  }

  #add(): void {
    const worker = new Worker(this.#module);
    worker.unref();
    // What is said to a thread before it is there holds the process again once it is.
    worker.on('online', () => {
      if (this.#idle.includes(worker)) worker.unref();
    });
    worker.on('error', (error: Error) => this.#fail(error));
    worker.on('messageerror', (error: Error) => this.#fail(error));
    // One that ends without having been told to takes what it was given with it.
    worker.on('exit', (code) => {
      if (this.#workers.includes(worker)) this.#fail(new Error(`a thread ended by itself (${code})`));
    });
    worker.on('message', (answer: Answer) => {
      const job = this.#jobs.get(answer.number);
      this.#jobs.delete(answer.number);
      this.#give(worker);
      if ('value' in answer) job?.resolve(answer.value);
      // Of an error of ours a copy crosses over; a problem must stay one.
      else job?.reject('error' in answer ? answer.error : new ProblemError(answer.problems));
    });
    if (this.#begin) worker.postMessage(this.#begin);
    this.#workers.push(worker);
    this.#idle.push(worker);
  }

  #give(worker: Worker): void {
    const number = this.#waiting.shift();
    if (number === undefined) {
      worker.unref();
      this.#idle.push(worker);
      return;
    }
    const { told, begun } = this.#jobs.get(number)!;
    // The process lives as long as something is being computed.
    worker.ref();
    begun();
    worker.postMessage(told);
  }

  #fail(error: Error): void {
    const jobs = [...this.#jobs.values()];
    this.#jobs.clear();
    this.#waiting = [];
    void this.end();
    for (const { reject } of jobs) reject(error);
  }
}
