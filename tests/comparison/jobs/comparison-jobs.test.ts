/** Comparisons as jobs: the same answer as in place, seen and cancelled from every server, never lost in silence. */
import { setTimeout as delay } from 'node:timers/promises';
import { sql } from 'drizzle-orm';
import { afterAll, beforeAll, expect, test } from 'vitest';
import type { AnalysisJob } from '../../../shared/job.ts';
import { Refusal } from '../../../shared/refusal.ts';
import type { Principal } from '../../../src/access/principal.ts';
import { askComparison } from '../../../src/comparison/ask-comparison.ts';
import { ComparisonJobs } from '../../../src/comparison/jobs/comparison-jobs.ts';
import { forgetOldJobs } from '../../../src/comparison/jobs/job-rows.ts';
import { getAnalysis } from '../../../src/pooling/stored-analysis.ts';
import { ThreadPool } from '../../../src/threads/thread-pool.ts';
import { makePrincipal } from '../../harness/actors.ts';
import { onEachDatabase } from '../../harness/service-database.ts';
import { fillTwoLabs, type TwoLabs } from '../../releases/two-labs.ts';
import { specify } from '../made-shots.ts';

const bySign = {
  contrast: { kind: 'sign', variable: 'cueAcceleration' },
  response: 'outcomeDistance',
  match: [
    { variable: 'cueSpeed', caliper: 0.1 },
    { variable: 'tipOffset', caliper: 0.05 },
  ],
};
/** Another question each time: a stored answer would be given at once. */
const asking = (confidence: number, more: object = {}) => specify({ ...bySign, confidence, ...more });

async function codeOf(work: Promise<unknown>): Promise<string> {
  const error: unknown = await work.catch((reason: unknown) => reason);
  return error instanceof Refusal ? error.code : `no refusal: ${String(error)}`;
}

onEachDatabase((open) => {
  let labs: TwoLabs;
  let reader: Principal;
  /** Of one server, whose only thread can be kept busy. */
  let pool: ThreadPool;
  let jobs: ComparisonJobs;
  /** Of another server on the same database. */
  let otherPool: ThreadPool;
  let others: ComparisonJobs;
  const failures: unknown[] = [];
  const db = () => open().db;

  beforeAll(async () => {
    labs = await fillTwoLabs(db());
    reader = await makePrincipal(db(), labs.curator, 'reader');
    const onFailure = (error: unknown) => failures.push(error);
    pool = new ThreadPool({ threads: 1, queue: 2 });
    otherPool = new ThreadPool({ threads: 1, queue: 2 });
    jobs = new ComparisonJobs({ db: db(), pool, onFailure });
    others = new ComparisonJobs({ db: db(), pool: otherPool, onFailure });
  });
  afterAll(async () => {
    await jobs.stop();
    await pool.close();
    await otherPool.close();
  });

  function keepBusy(): () => void {
    const controller = new AbortController();
    const module = new URL('../../threads/trial-thread.ts', import.meta.url);
    pool.run({ module, input: { kind: 'forever' }, signal: controller.signal }).catch(() => {});
    return () => controller.abort();
  }

  async function jobFor(confidence: number, more: object = {}): Promise<AnalysisJob> {
    const reply = await jobs.ask(reader, asking(confidence, more), null);
    if (!('job' in reply)) throw new Error('a job was expected');
    return reply.job;
  }

  async function ended(id: string, seenFrom = jobs): Promise<AnalysisJob> {
    for (let round = 0; round < 300; round += 1) {
      const job = await seenFrom.get(reader, id);
      if (job.finishedAt !== null) return job;
      await delay(50);
    }
    throw new Error('the job did not end');
  }

  test('a job ends with the very answer that is computed in place, and every server leads to it', async () => {
    const job = await jobFor(0.9);
    expect(job).toMatchObject({ state: 'waiting', step: null, share: 0, result: null, problem: null });
    const done = await ended(job.id, others);
    expect(done).toMatchObject({ state: 'finished', share: 1, result: `/v1/analyses/${job.analysis}` });
    const { id, result } = await getAnalysis(db(), reader, job.analysis);
    const again = await jobs.ask(reader, asking(0.9), null);
    expect('answer' in again && JSON.parse(again.answer.text)).toEqual(result);
    await db().execute(sql`delete from analysis where id = ${id}`);
    expect((await askComparison(db(), reader, asking(0.9))).result).toEqual(result);
  });

  test('a small question is answered at once, in place', async () => {
    const free = keepBusy();
    const reply = await jobs.ask(reader, asking(0.91), 0);
    free();
    expect('answer' in reply && JSON.parse(reply.answer.text).verdict).toBe('noMargin');
  });

  test('who asks the same again is shown the same job, another token gets its own and sees no other', async () => {
    const free = keepBusy();
    const job = await jobFor(0.92);
    expect((await jobFor(0.92)).id).toBe(job.id);
    const reply = await jobs.ask(labs.north.lead, asking(0.92), null);
    expect('job' in reply && reply.job.id).not.toBe(job.id);
    expect(await codeOf(jobs.get(labs.north.lead, job.id))).toBe('not-found');
    expect(await codeOf(jobs.cancel(labs.north.lead, job.id))).toBe('not-found');
    free();
    expect((await ended(job.id)).state).toBe('finished');
  });

  test('a job is cancelled at once by its own server, and within seconds through another', async () => {
    const free = keepBusy();
    const job = await jobFor(0.93);
    expect(await jobs.cancel(reader, job.id)).toMatchObject({ state: 'cancelled', result: null, problem: null });
    const second = await jobFor(0.93);
    expect(second.id).not.toBe(job.id);
    expect((await others.cancel(reader, second.id)).state).toBe('cancelling');
    expect((await ended(second.id, others)).state).toBe('cancelled');
    free();
    const kept = await jobs.cancel(reader, second.id);
    expect(kept.state).toBe('cancelled');
  });

  test('a question that the data cannot answer ends with the problem that it would have been refused with', async () => {
    const job = await ended((await jobFor(0.94, { match: [{ variable: 'cueSpeed', caliper: 1e-9 }] })).id);
    expect(job).toMatchObject({ state: 'failed', result: null, problem: { code: 'not-estimable', status: 422 } });
    expect(job.problem?.detail).toMatch(/pairs were found and at least 3 are needed/);
  });

  test('a job whose server died says so, and the question can be asked again', async () => {
    const free = keepBusy();
    const job = await jobFor(0.96);
    await db().execute(sql`
      update analysis_job set alive_until = clock_timestamp() - interval '1 second' where id = ${job.id}::uuid`);
    expect(await others.get(reader, job.id)).toMatchObject({ state: 'failed', problem: { code: 'not-ready' } });
    const again = await jobFor(0.96);
    expect(again.id).not.toBe(job.id);
    free();
    expect((await ended(again.id)).state).toBe('finished');
    await db().execute(sql`update analysis_job set alive_until = clock_timestamp() - interval '8 days'`);
    await forgetOldJobs(db());
    expect(await codeOf(jobs.get(reader, again.id))).toBe('not-found');
  });

  test('too many questions at a time are told when to come again, and a server that stops ends its jobs', async () => {
    const free = keepBusy();
    const waiting = await jobFor(0.97);
    await jobFor(0.98);
    expect(await codeOf(jobs.ask(reader, asking(0.985), null))).toBe('not-ready');
    await jobs.stop();
    free();
    expect(await others.get(reader, waiting.id)).toMatchObject({ state: 'failed', problem: { code: 'not-ready' } });
    expect(failures).toEqual([]);
  });
});
