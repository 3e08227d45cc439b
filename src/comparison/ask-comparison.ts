/** Use case: a matched comparison for a caller. */
import type { ComparisonResult, ComparisonSpecification } from '../../shared/comparison.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import type { Scope } from '../access/visibility.ts';
import { answerQuestion } from '../pooling/answer-question.ts';
import { canonicalComparison } from '../pooling/canonical-specification.ts';
import type { Database } from '../store/database.ts';
import { checkComparison } from './check-comparison.ts';
import type { ComparisonMargin } from './judge-difference.ts';
import { marginToApply } from './margins.ts';
import { runComparison } from './run-comparison.ts';

export interface ComparisonAnswer {
  readonly id: string;
  readonly scope: Scope;
  readonly result: ComparisonResult;
}

/**
 * Answers a comparison from live shots or a release, and stores the answer under its id.
 * @throws Refusal 'unauthenticated', 'not-found' (scope, release or margin), 'margin-superseded', 'request-invalid',
 *   'not-estimable'
 */
export async function askComparison(
  db: Database,
  principal: Principal,
  specification: ComparisonSpecification,
): Promise<ComparisonAnswer> {
  permit(principal, 'readShared');
  checkComparison(specification);
  const asked = canonicalComparison(specification);
  const margin = asked.margin === null ? null : await declaredMargin(db, asked.margin, asked);
  const { id, scope, result } = await answerQuestion(db, principal, asked, (columns, fixed, base) =>
    runComparison(columns, fixed, base, margin),
  );
  if (result.kind !== 'comparison') throw new Error(`analysis ${id} is not a comparison`);
  return { id, scope, result };
}

async function declaredMargin(
  db: Database,
  marginId: string,
  { response }: ComparisonSpecification,
): Promise<ComparisonMargin> {
  const { id, value, declaredAt } = await marginToApply(db, marginId, response);
  return { id, value, declaredAt, receivedAfter: { times: true } };
}
