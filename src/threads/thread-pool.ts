/**
 * Heavy work in worker threads: as many at a time as there are threads, a bounded queue behind them, each job
 * cancellable. Threads start when they are first needed and stay.
 *
 * A job is a module that exports `run: ThreadWork<Input, Output>`:
 *
 *   // match-thread.ts
 *   export const run: ThreadWork<Points, Pairs> = (points, report) => { report({ done: 0.5 }); return pairs; };
 *
 *   // its caller
 *   const module = new URL('./match-thread.ts', import.meta.url);
 *   const pairs = await pool.run<Pairs>({ module, input, signal, onProgress });
 *
 * Input, output and progress are copied as by `structuredClone`; a SharedArrayBuffer is not copied but shared, so nobody
 * may write to it any more. A Refusal thrown by the job arrives as a Refusal.
 */
import type { ResourceLimits, Worker } from 'node:worker_threads';
import { Refusal } from '../../shared/refusal.ts';
import { builtModule, startThread } from './start-thread.ts';
import { type FromThread, refusalOf, type ThreadJob } from './thread-messages.ts';

/** What a module exports as `run`. `report` sends a message to the caller's `onProgress`. */
export type ThreadWork<Input, Output> = (input: Input, report: (progress: unknown) => void) => Output | Promise<Output>;

export interface PoolLimits {
  /** Jobs at a time. */
  readonly threads: number;
  /** Jobs that may wait for a thread. */
  readonly queue: number;
  /** Of each thread; those of the engine when not given. */
  readonly resourceLimits?: ResourceLimits | undefined;
}

export interface PoolJob {
  /** As it is named in the source: `new URL('./match-thread.ts', import.meta.url)`. */
  readonly module: URL;
  readonly input: unknown;
  /** Ends the job, whether it waits or runs: a running one loses its thread at once. */
  readonly signal?: AbortSignal | undefined;
  readonly onProgress?: ((progress: unknown) => void) | undefined;
}

interface Waiting {
  readonly job: PoolJob;
  readonly resolve: (output: unknown) => void;
  readonly reject: (reason: unknown) => void;
  /** Takes back what listens to the signal. */
  settled: () => void;
}

export class ThreadPool {
  readonly #limits: PoolLimits;
  readonly #idle: Worker[] = [];
  readonly #running = new Map<Worker, Waiting>();
  readonly #waiting: Waiting[] = [];
  #closed = false;

  constructor(limits: PoolLimits) {
    this.#limits = limits;
  }

  /** Jobs that run and jobs that wait. */
  get load(): { readonly running: number; readonly waiting: number } {
    return { running: this.#running.size, waiting: this.#waiting.length };
  }

  /** Starts one thread ahead of its first job; resolves when it can take one. */
  async prepare(): Promise<void> {
    if (this.#closed || this.#idle.length + this.#running.size > 0) return;
    const thread = this.#newThread();
    thread.unref();
    this.#idle.push(thread);
    await new Promise<void>((resolve) => {
      thread.once('online', resolve);
      thread.once('exit', () => resolve());
    });
  }

  /**
   * What the job returns.
   * @throws Refusal 'not-ready' with a time to try again when the queue is full or the pool is closed; the reason of the
   *   signal when it ends the job; what the job throws
   */
  run<Output>(job: PoolJob): Promise<Output> {
    return new Promise<Output>((resolve, reject) => {
      job.signal?.throwIfAborted();
      if (this.#closed) throw new Refusal('not-ready', 'The server is stopping.', { retryAfterSeconds: 5 });
      if (this.#running.size >= this.#limits.threads && this.#waiting.length >= this.#limits.queue) {
        throw new Refusal(
          'not-ready',
          `${this.#running.size} long computations run and ${this.#waiting.length} wait already.`,
          { retryAfterSeconds: 2 },
        );
      }
      // What the module returns has the type that its caller names.
      const waiting: Waiting = { job, resolve: resolve as (output: unknown) => void, reject, settled: () => {} };
      const { signal } = job;
      if (signal !== undefined) {
        const end = () => this.#end(waiting, signal.reason);
        signal.addEventListener('abort', end, { once: true });
        waiting.settled = () => signal.removeEventListener('abort', end);
      }
      this.#waiting.push(waiting);
      this.#startNext();
    });
  }

  /** Ends the threads that have nothing to do, which gives their memory back; new ones start when they are needed. */
  async endIdle(): Promise<void> {
    await Promise.all(this.#idle.splice(0).map((thread) => thread.terminate()));
  }

  /** Ends every job and every thread. */
  async close(): Promise<void> {
    this.#closed = true;
    const reason = new Refusal('not-ready', 'The server is stopping.', { retryAfterSeconds: 5 });
    for (const waiting of this.#waiting.splice(0)) settle(waiting, () => waiting.reject(reason));
    const threads = [...this.#idle.splice(0), ...this.#running.keys()];
    for (const waiting of this.#running.values()) settle(waiting, () => waiting.reject(reason));
    this.#running.clear();
    await Promise.all(threads.map((thread) => thread.terminate()));
  }

  #startNext(): void {
    if (this.#running.size >= this.#limits.threads) return;
    const next = this.#waiting.shift();
    if (next === undefined) return;
    const thread = this.#idle.pop() ?? this.#newThread();
    thread.ref();
    this.#running.set(thread, next);
    try {
      thread.postMessage({ module: builtModule(next.job.module).href, input: next.job.input } satisfies ThreadJob);
    } catch (error) {
      // The input cannot be copied; the thread has not heard of the job.
      this.#finish(thread, (waiting) => waiting.reject(error));
    }
  }

  #newThread(): Worker {
    const { resourceLimits } = this.#limits;
    const limits = resourceLimits === undefined ? {} : { resourceLimits };
    const thread = startThread(new URL('./run-jobs.ts', import.meta.url), limits);
    thread.on('message', (message: FromThread) => {
      if (message.kind === 'progress') this.#running.get(thread)?.job.onProgress?.(message.progress);
      else if (message.kind === 'output') this.#finish(thread, (waiting) => waiting.resolve(message.output));
      else if (message.kind === 'refusal') this.#finish(thread, (waiting) => waiting.reject(refusalOf(message)));
      else this.#finish(thread, (waiting) => waiting.reject(message.error));
    });
    // A thread that dies, say of too little memory, takes its job with it.
    thread.on('error', (error) => this.#lose(thread, error));
    thread.on('exit', (code) => this.#lose(thread, new Error(`a thread ended with code ${code}`)));
    return thread;
  }

  #finish(thread: Worker, settleWith: (waiting: Waiting) => void): void {
    const waiting = this.#running.get(thread);
    if (waiting === undefined) return;
    this.#running.delete(thread);
    // An idle thread keeps no process alive.
    thread.unref();
    this.#idle.push(thread);
    settle(waiting, () => settleWith(waiting));
    this.#startNext();
  }

  #lose(thread: Worker, reason: unknown): void {
    const place = this.#idle.indexOf(thread);
    if (place >= 0) this.#idle.splice(place, 1);
    const waiting = this.#running.get(thread);
    if (waiting === undefined) return;
    this.#running.delete(thread);
    settle(waiting, () => waiting.reject(reason));
    this.#startNext();
  }

  #end(waiting: Waiting, reason: unknown): void {
    const place = this.#waiting.indexOf(waiting);
    if (place >= 0) {
      this.#waiting.splice(place, 1);
      settle(waiting, () => waiting.reject(reason));
      return;
    }
    for (const [thread, running] of this.#running) {
      if (running !== waiting) continue;
      this.#lose(thread, reason);
      void thread.terminate();
    }
  }
}

function settle(waiting: Waiting, how: () => void): void {
  waiting.settled();
  how();
}
