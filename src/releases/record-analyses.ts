/** Asks the questions of a release of its frozen shots, once, when it is frozen. */
import { eq } from 'drizzle-orm';
import type { ComparisonSpecification } from '../../shared/comparison.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { RecordedQuestion } from '../../shared/release.ts';
import { runComparison } from '../comparison/run-comparison.ts';
import type { ShotColumns } from '../pooling/columns.ts';
import type { Database } from '../store/database.ts';
import { equivalenceMargin } from '../store/schema.ts';
import type { ReleaseIdentity } from './frozen-shot.ts';
import {
  type AnalysesFile,
  answerComparison,
  answerRegression,
  baseOf,
  type FrozenMargin,
  freezeMargin,
  questionOfRelease,
  type RecordedAnalysis,
} from './recorded-analyses.ts';

interface DeclaredMargin {
  readonly frozen: FrozenMargin;
  readonly declaredAt: string;
}

const uuidPattern = /^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$/;

async function loadMargin(db: Database, specification: ComparisonSpecification): Promise<DeclaredMargin | null> {
  const { margin: id, response } = specification;
  if (id === null) return null;
  const [row] = uuidPattern.test(id)
    ? await db.select().from(equivalenceMargin).where(eq(equivalenceMargin.id, id))
    : [];
  if (row === undefined) throw new Refusal('not-found', `there is no margin ${id}`);
  const [successor] = await db
    .select({ id: equivalenceMargin.id })
    .from(equivalenceMargin)
    .where(eq(equivalenceMargin.supersedes, id));
  if (successor !== undefined) throw new Refusal('margin-superseded', `margin ${id} was superseded by ${successor.id}`);
  if (row.variable !== response) {
    throw new Refusal('request-invalid', `margin ${id} is for ${row.variable}, the response is ${response}`);
  }
  return {
    frozen: freezeMargin({ variable: response, value: row.value, reason: row.reason }),
    declaredAt: row.declaredAt.toISOString(),
  };
}

/**
 * Share of the judged shots received after the margin was declared: asked with the clock times that only the database
 * has, then kept as a number. It is 0, and unused, when the comparison comes to no
 * verdict on the margin.
 */
function shareReceivedAfter(
  columns: ShotColumns,
  specification: ComparisonSpecification,
  identity: ReleaseIdentity,
  { frozen, declaredAt }: DeclaredMargin,
): number {
  const margin = { id: frozen.id, value: frozen.value, declaredAt, receivedAfter: { times: true } as const };
  const result = runComparison(columns, specification, baseOf(specification, identity), margin);
  return result.equivalence?.shareReceivedAfter ?? 0;
}

async function recordOne(
  db: Database,
  columns: ShotColumns,
  asked: RecordedQuestion,
  identity: ReleaseIdentity,
): Promise<{ analysis: RecordedAnalysis; margin: FrozenMargin | null }> {
  const question = questionOfRelease(asked, identity);
  if (question.kind === 'regression') {
    const result = answerRegression(columns, question.specification, identity);
    return { analysis: { shareReceivedAfter: null, result }, margin: null };
  }
  const margin = await loadMargin(db, question.specification);
  if (margin === null) {
    const result = answerComparison(columns, question.specification, identity, null, 0);
    return { analysis: { shareReceivedAfter: null, result }, margin: null };
  }
  const specification = { ...question.specification, margin: margin.frozen.id };
  const share = shareReceivedAfter(columns, specification, identity, margin);
  const result = answerComparison(columns, specification, identity, margin.frozen, share);
  return { analysis: { shareReceivedAfter: share, result }, margin: margin.frozen };
}

/**
 * The content of analyses.json.
 * @param columns the frozen shots, with the times at which they were received
 * @throws Refusal release-invalid naming the question that cannot be answered, and why
 */
export async function recordAnalyses(
  db: Database,
  columns: ShotColumns,
  questions: readonly RecordedQuestion[],
  identity: ReleaseIdentity,
): Promise<AnalysesFile> {
  const margins = new Map<string, FrozenMargin>();
  const analyses: RecordedAnalysis[] = [];
  for (const [index, question] of questions.entries()) {
    try {
      const { analysis, margin } = await recordOne(db, columns, question, identity);
      analyses.push(analysis);
      if (margin !== null) margins.set(margin.id, margin);
    } catch (error) {
      if (!(error instanceof Refusal)) throw error;
      const which = `analysis ${index + 1} (${question.kind} of ${question.specification.response})`;
      const faults = error.faults.map((fault) => ({
        ...fault,
        pointer: `/analyses/${index}/specification${fault.pointer ?? ''}`,
      }));
      throw new Refusal('release-invalid', `${which} cannot be computed: ${error.message}`, { faults, cause: error });
    }
  }
  return { margins: [...margins.values()], analyses };
}
