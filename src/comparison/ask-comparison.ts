/** Use case: a matched comparison for a caller. */
import type { ComparisonResult, ComparisonSpecification } from '../../shared/comparison.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import type { Scope } from '../access/visibility.ts';
import { type OpenQuestion, openQuestion } from '../pooling/answer-question.ts';
import { canonicalComparison } from '../pooling/canonical-specification.ts';
import { requireAnalysis, type StoredAnalysis, storeAnalysis } from '../pooling/stored-analysis.ts';
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
 * Checks a comparison and fixes what it is answered from.
 * @throws Refusal 'unauthenticated', 'not-found' (scope, release or margin), 'margin-superseded', 'request-invalid'
 */
export async function openComparison(db: Database, principal: Principal, specification: ComparisonSpecification) {
  permit(principal, 'readShared');
  checkComparison(specification);
  const asked = canonicalComparison(specification);
  const margin = asked.margin === null ? null : await declaredMargin(db, asked.margin, asked);
  return { question: await openQuestion(db, principal, asked), margin };
}

/** Answers in the thread of the caller, and stores the answer. @throws Refusal 'not-estimable' */
export function answerInPlace(
  db: Database,
  { id, scope, columns, specification, base }: OpenQuestion<ComparisonSpecification>,
  margin: ComparisonMargin | null,
): Promise<StoredAnalysis> {
  return storeAnalysis(db, { id, scope, result: runComparison(columns, specification, base, margin) });
}

/**
 * Answers a comparison from live shots or a release, however long it takes, and stores the answer under its id.
 * @throws Refusal as openComparison, and 'not-estimable'
 */
export async function askComparison(
  db: Database,
  principal: Principal,
  specification: ComparisonSpecification,
): Promise<ComparisonAnswer> {
  const { question, margin } = await openComparison(db, principal, specification);
  const { id, scope, result } =
    'stored' in question ? await requireAnalysis(db, question.stored) : await answerInPlace(db, question, margin);
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
