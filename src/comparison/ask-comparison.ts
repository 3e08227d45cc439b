/** Use case: a matched comparison for a caller. */
import type { ComparisonResult, ComparisonSpecification } from '../../shared/comparison.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { requireScope, type Scope } from '../access/visibility.ts';
import { type OpenQuestion, openQuestion } from '../pooling/answer-question.ts';
import { canonicalComparison } from '../pooling/canonical-specification.ts';
import type { ViewSource } from '../pooling/column-store/shot-view.ts';
import { openLiveQuestion } from '../pooling/live-question.ts';
import { type LiveSource, liveSourceOf } from '../pooling/live-source.ts';
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

/** A comparison to be answered, or the id of the answer that there is. */
export type ComparisonQuestion = OpenComparison | { readonly stored: string };

export interface OpenComparison extends OpenQuestion<ComparisonSpecification> {
  /** What the columns are laid out of, where the server keeps that in memory: threads share it. */
  readonly memory?: { readonly source: ViewSource; readonly labels: readonly string[] } | null;
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
  const live = asked.source === 'live' ? liveSourceOf(db) : null;
  const question: ComparisonQuestion =
    live === null ? await openQuestion(db, principal, asked) : await openInMemory(db, live, principal, asked);
  return { question, margin };
}

async function openInMemory(
  db: Database,
  live: LiveSource,
  principal: Principal,
  specification: ComparisonSpecification,
): Promise<ComparisonQuestion> {
  const scope = requireScope(principal, specification.scope);
  const opened = await openLiveQuestion(db, live, scope, specification);
  if ('stored' in opened) return opened;
  const { id, base, view } = opened;
  const { columns, source, labels } = view;
  return { id, scope, specification, base, columns, memory: labels === null ? null : { source, labels } };
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
