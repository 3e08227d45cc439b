/** Use case: a pooled regression for a caller. */
import type { RegressionResult, RegressionSpecification } from '../../shared/regression.ts';
import type { Principal } from '../access/principal.ts';
import type { Scope } from '../access/visibility.ts';
import type { Database } from '../store/database.ts';
import { answerQuestion } from './answer-question.ts';
import { canonicalRegression } from './canonical-specification.ts';
import { runRegression } from './run-regression.ts';

export interface RegressionAnswer {
  readonly id: string;
  readonly scope: Scope;
  readonly result: RegressionResult;
}

/**
 * Answers a regression from live shots or a release, and stores the answer under its id.
 * @throws Refusal 'unauthenticated', 'not-found' (scope or release), 'request-invalid', 'not-estimable'
 */
export async function askRegression(
  db: Database,
  principal: Principal,
  specification: RegressionSpecification,
): Promise<RegressionAnswer> {
  const asked = canonicalRegression(specification);
  const { id, scope, result } = await answerQuestion(db, principal, asked, runRegression);
  if (result.kind !== 'regression') throw new Error(`analysis ${id} is not a regression`);
  return { id, scope, result };
}
