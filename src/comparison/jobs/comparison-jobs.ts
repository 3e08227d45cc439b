/** Comparisons that may take long: worked on in threads, answered at once when quick, else found again as jobs. */
import { setTimeout as delay } from 'node:timers/promises';
import type { ComparisonSpecification } from '../../../shared/comparison.ts';
import type { AnalysisJob } from '../../../shared/job.ts';
import { detailOf, problemOf } from '../../../shared/problem.ts';
import { Refusal } from '../../../shared/refusal.ts';
import type { Principal } from '../../access/principal.ts';
import { selectShots } from '../../pooling/select-shots.ts';
import { type AnswerText, getAnswerText, storeAnswerText } from '../../pooling/stored-analysis.ts';
import type { Database } from '../../store/database.ts';
import type { ThreadPool } from '../../threads/thread-pool.ts';
import { answerInPlace, type OpenComparison, openComparison } from '../ask-comparison.ts';
import type { ComparisonMargin } from '../judge-difference.ts';
import type { ComparisonProgress, ComparisonWork } from './comparison-thread.ts';
import { endJob, getJob, insertJob, jobAtWork, keepJobAlive, requestCancel } from './job-rows.ts';

export interface ComparisonJobsOptions {
  readonly db: Database;
  readonly pool: ThreadPool;
  /** Told of failures that are no refusals. */
  readonly onFailure: (error: unknown) => void;
}

export type ComparisonReply = { readonly answer: AnswerText } | { readonly job: AnalysisJob };

/** Up to so many shots are matched in place: a thread would not be quicker. */
const shotsInPlace = 1000;
/** How often a job says that it is worked on, ms. */
const heartbeat = 1000;

const cancelled = new Refusal('not-ready', 'The comparison was cancelled.');

/** Work in hand. */
interface Work {
  readonly controller: AbortController;
  readonly done: Promise<void>;
  progress: ComparisonProgress | null;
}

export class ComparisonJobs {
  readonly #options: ComparisonJobsOptions;
  /** By job. */
  readonly #atWork = new Map<string, { readonly work: Work; readonly ended: Promise<void> }>();

  constructor(options: ComparisonJobsOptions) {
    this.#options = options;
  }

  /**
   * The answer when it is stored or comes within the patience of the caller, else a job that will have it.
   * @param patience ms; null: none, not even for a small question unless its answer is stored
   * @throws Refusal as askComparison, and 'not-ready' when too many questions wait already
   */
  async ask(
    principal: Principal,
    specification: ComparisonSpecification,
    patience: number | null,
  ): Promise<ComparisonReply> {
    const { db } = this.#options;
    const { question, margin } = await openComparison(db, principal, specification);
    if ('stored' in question) return { answer: await getAnswerText(db, principal, question.stored) };
    const { columns, specification: asked } = question;
    if (patience !== null && selectShots(columns, asked.filter, [asked.response]).indices.length <= shotsInPlace) {
      await answerInPlace(db, question, margin);
      return { answer: await getAnswerText(db, principal, question.id) };
    }
    const before = await jobAtWork(db, principal, question.id);
    if (before !== null) return { job: before };

    const work = this.#start(question, margin);
    // Without patience too: a pool that takes no more refuses at once.
    const waiting = new AbortController();
    const quick = await Promise.race([
      work.done.then(() => true),
      delay(patience ?? 0, false, { signal: waiting.signal }).catch(() => false),
    ]).finally(() => waiting.abort());
    if (quick) return { answer: await getAnswerText(db, principal, question.id) };
    const job = await insertJob(db, principal, question).catch((error: unknown) => {
      work.controller.abort(cancelled);
      throw error;
    });
    if (job !== null) {
      this.#watch(job.id, work);
      return { job };
    }
    // Asked twice at the same time: the other one goes on.
    work.controller.abort(cancelled);
    const other = await jobAtWork(db, principal, question.id);
    if (other !== null) return { job: other };
    return { answer: await getAnswerText(db, principal, question.id) };
  }

  /** @throws Refusal 'unauthenticated', 'not-found' */
  get(principal: Principal, id: string): Promise<AnalysisJob> {
    return getJob(this.#options.db, principal, id);
  }

  /** Stops a job; one that another server works on stops within seconds. @throws Refusal 'unauthenticated', 'not-found' */
  async cancel(principal: Principal, id: string): Promise<AnalysisJob> {
    const { db } = this.#options;
    const job = await requestCancel(db, principal, id);
    const own = this.#atWork.get(id);
    if (own === undefined) return job;
    own.work.controller.abort(cancelled);
    await own.ended;
    return getJob(db, principal, id);
  }

  /** Ends what is in hand, saying so. Call before the database is closed. */
  async stop(): Promise<void> {
    const reason = new Refusal('not-ready', 'The server was stopped before it had the answer. Ask again.');
    for (const { work } of this.#atWork.values()) work.controller.abort(reason);
    await Promise.all([...this.#atWork.values()].map(({ ended }) => ended));
  }

  #start({ id, scope, specification, base, columns, memory }: OpenComparison, margin: ComparisonMargin | null): Work {
    const { db, pool } = this.#options;
    const controller = new AbortController();
    // Chunks in memory are shared with the thread, columns that were read for this question are copied.
    const shots = memory === null || memory === undefined ? { columns } : memory;
    const input: ComparisonWork = { shots, specification, base, margin };
    const computed = pool.run<string>({
      module: new URL('./comparison-thread.ts', import.meta.url),
      input,
      signal: controller.signal,
      onProgress: (progress) => {
        // What the module reports has the type that it names.
        work.progress = progress as ComparisonProgress;
      },
    });
    const done = computed.then((text) => storeAnswerText(db, { id, scope, kind: 'comparison', text, specification }));
    // Whoever waits hears of it; nobody may be waiting yet.
    done.catch(() => {});
    const work: Work = { controller, done, progress: null };
    return work;
  }

  #watch(id: string, work: Work): void {
    const { db, onFailure } = this.#options;
    const beat = async () => {
      try {
        const goesOn = await keepJobAlive(db, id, work.progress ?? { step: null, share: 0 });
        if (!goesOn) work.controller.abort(cancelled);
      } catch (error) {
        onFailure(error);
      }
    };
    let beating: Promise<void> | null = null;
    const timer = setInterval(() => {
      beating ??= beat().finally(() => {
        beating = null;
      });
    }, heartbeat);
    const end = async () => {
      try {
        await work.done;
        await endJob(db, id, 'finished', null);
      } catch (error) {
        await endJob(db, id, error === cancelled ? 'cancelled' : 'failed', this.#problemOf(error));
      }
    };
    const endAndForget = async () => {
      try {
        await end();
      } catch (error) {
        onFailure(error);
      }
      clearInterval(timer);
      await beating;
      this.#atWork.delete(id);
    };
    const ended = endAndForget();
    this.#atWork.set(id, { work, ended });
  }

  #problemOf(error: unknown) {
    if (error === cancelled) return null;
    if (error instanceof Refusal) return problemOf(error.code, detailOf(error), null, error.faults);
    this.#options.onFailure(error);
    return problemOf('internal', 'The comparison failed; the log of the server says why.', null, []);
  }
}
