/**
 * Jobs in the database, so that every server of several can show and cancel what any of them works on. The server that
 * works on a job says so again and again; one that has fallen silent has lost it.
 */
import { and, eq, isNull, sql } from 'drizzle-orm';
import type { AnalysisJob, JobState, JobStep } from '../../../shared/job.ts';
import { problemOf } from '../../../shared/problem.ts';
import type { Problem } from '../../../shared/problems.ts';
import { Refusal } from '../../../shared/refusal.ts';
import { permit } from '../../access/permissions.ts';
import type { Principal } from '../../access/principal.ts';
import { requireScope, type Scope } from '../../access/visibility.ts';
import type { Database } from '../../store/database.ts';
import { analysisJob } from '../../store/schema.ts';

export type JobRow = typeof analysisJob.$inferSelect;

/** How long a job counts as worked on after the last word about it. */
const alive = sql`clock_timestamp() + interval '30 seconds'`;
const isSilent = sql<boolean>`${analysisJob.aliveUntil} < clock_timestamp()`;
/** How long a job that has ended can be looked at. */
const kept = sql`interval '7 days'`;

const lost = () =>
  problemOf('not-ready', 'The server that worked on this stopped before it had the answer. Ask again.', null, []);

/** Whose job it is: the token's; without tokens, of anybody who knows its id. */
const ofPrincipal = ({ tokenId }: Principal) => sql`${analysisJob.tokenId} is not distinct from ${tokenId}::uuid`;

/** The job on this question that the same token has at work, or null. */
export async function jobAtWork(db: Database, principal: Principal, analysisId: string): Promise<AnalysisJob | null> {
  await db
    .update(analysisJob)
    .set({ state: 'failed', problem: lost(), finishedAt: sql`clock_timestamp()` })
    .where(and(eq(analysisJob.analysisId, analysisId), isNull(analysisJob.finishedAt), isSilent));
  const [row] = await db
    .select()
    .from(analysisJob)
    .where(and(eq(analysisJob.analysisId, analysisId), isNull(analysisJob.finishedAt), ofPrincipal(principal)));
  return row === undefined ? null : present(row, false);
}

/** Makes the resource of a question that is being worked on; null when the same token has one at work already. */
export async function insertJob(
  db: Database,
  { tokenId }: Principal,
  question: { readonly id: string; readonly scope: Scope },
): Promise<AnalysisJob | null> {
  const [row] = await db
    .insert(analysisJob)
    .values({ tokenId, analysisId: question.id, scope: question.scope, state: 'waiting', aliveUntil: alive })
    .onConflictDoNothing()
    .returning();
  return row === undefined ? null : present(row, false);
}

/** Says that the job is worked on and how far it is. @returns whether it shall go on */
export async function keepJobAlive(
  db: Database,
  id: string,
  { step, share }: { readonly step: JobStep | null; readonly share: number },
): Promise<boolean> {
  const rows = await db
    .update(analysisJob)
    .set({ state: step === null ? 'waiting' : 'running', step, share, aliveUntil: alive })
    .where(and(eq(analysisJob.id, id), isNull(analysisJob.finishedAt)))
    .returning({ cancelRequested: analysisJob.cancelRequested });
  return rows.some(({ cancelRequested }) => !cancelRequested);
}

/** Ends a job; what has ended stays as it is. */
export async function endJob(
  db: Database,
  id: string,
  state: 'finished' | 'failed' | 'cancelled',
  problem: Problem | null,
): Promise<void> {
  await db
    .update(analysisJob)
    .set({ state, problem, finishedAt: sql`clock_timestamp()`, ...(state === 'finished' ? { share: 1 } : {}) })
    .where(and(eq(analysisJob.id, id), isNull(analysisJob.finishedAt)));
}

/** @throws Refusal 'unauthenticated'; 'not-found' also for a job that another token asked for */
export async function getJob(db: Database, principal: Principal, id: string): Promise<AnalysisJob> {
  permit(principal, 'readShared');
  const [found] = await db
    .select({ row: analysisJob, isSilent })
    .from(analysisJob)
    .where(and(eq(analysisJob.id, id), ofPrincipal(principal)));
  if (found === undefined) throw new Refusal('not-found', `There is no job ${id} for this token.`);
  requireScope(principal, found.row.scope);
  return present(found.row, found.isSilent);
}

/** Asks the server that works on it to stop. @throws Refusal as getJob */
export async function requestCancel(db: Database, principal: Principal, id: string): Promise<AnalysisJob> {
  await getJob(db, principal, id);
  await db
    .update(analysisJob)
    .set({ cancelRequested: true })
    .where(and(eq(analysisJob.id, id), isNull(analysisJob.finishedAt)));
  return getJob(db, principal, id);
}

/** Jobs that ended, or fell silent, long ago. */
export async function forgetOldJobs(db: Database): Promise<void> {
  await db.delete(analysisJob).where(sql`${analysisJob.aliveUntil} < clock_timestamp() - ${kept}`);
}

function present(row: JobRow, silent: boolean): AnalysisJob {
  const isLost = silent && row.finishedAt === null;
  const isFinished = row.state === 'finished';
  return {
    id: row.id,
    state: isLost ? 'failed' : stateOf(row),
    step: row.step,
    share: row.share,
    askedAt: row.askedAt.toISOString(),
    finishedAt: (isLost ? row.aliveUntil : row.finishedAt)?.toISOString() ?? null,
    analysis: row.analysisId,
    result: isFinished ? `/v1/analyses/${row.analysisId}` : null,
    // Written by this service under its own schema.
    problem: isLost ? lost() : (row.problem as Problem | null),
  };
}

function stateOf({ state, finishedAt, cancelRequested }: JobRow): JobState {
  return finishedAt === null && cancelRequested ? 'cancelling' : state;
}
