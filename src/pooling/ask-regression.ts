/** Use case: a pooled regression for a caller. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { requireScope, type Scope } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import { answerQuestion } from './answer-question.ts';
import { canonicalRegression } from './canonical-specification.ts';
import { openLiveQuestion } from './live-question.ts';
import { type LiveSource, liveSourceOf } from './live-source.ts';
import type { RegressionJob } from './regression-thread.ts';
import { runRegression } from './run-regression.ts';
import { requireAnalysis, type StoredAnalysis, storeAnalysis } from './stored-analysis.ts';

const regressionThread = new URL('./regression-thread.ts', import.meta.url);

export interface RegressionAnswer {
  readonly id: string;
  readonly scope: Scope;
  readonly result: RegressionResult;
}

/**
 * Answers a regression from live shots or a release, and stores the answer under its id.
 * @param signal ends a long computation that nobody waits for any more
 * @throws Refusal 'unauthenticated', 'not-found' (scope or release), 'request-invalid', 'not-estimable', 'not-ready'
 *   (too many long computations)
 */
export async function askRegression(
  db: Database,
  principal: Principal,
  specification: RegressionSpecification,
  signal?: AbortSignal,
): Promise<RegressionAnswer> {
  const asked = canonicalRegression(specification);
  const live = asked.source === 'live' ? liveSourceOf(db) : null;
  const { id, scope, result } =
    live === null
      ? await answerQuestion(db, principal, asked, runRegression)
      : await askOfMemory(db, live, principal, asked, signal);
  if (result.kind !== 'regression') throw new Error(`analysis ${id} is not a regression`);
  return { id, scope, result };
}

async function askOfMemory(
  db: Database,
  live: LiveSource,
  principal: Principal,
  specification: RegressionSpecification,
  signal: AbortSignal | undefined,
): Promise<StoredAnalysis> {
  permit(principal, 'readShared');
  const scope = requireScope(principal, specification.scope);
  const opened = await openLiveQuestion(db, live, scope, specification);
  if ('stored' in opened) return requireAnalysis(db, opened.stored);
  const { id, base, view } = opened;
  const job: RegressionJob = { source: view.source, specification, base, labels: view.labels };
  const result =
    view.columns.count <= live.manyShots
      ? runRegression(view.columns, specification, base)
      : await live.threads.run<RegressionResult>({ module: regressionThread, input: job, signal });
  return storeAnalysis(db, { id, scope, result });
}
