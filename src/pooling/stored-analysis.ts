/** Answers once given: kept under their id, never computed again, never changed. */
import { eq } from 'drizzle-orm';
import { z } from 'zod';
import { type ComparisonResult, comparisonResultSchema } from '../../shared/comparison.ts';
import { Refusal } from '../../shared/refusal.ts';
import { type RegressionResult, regressionResultSchema } from '../../shared/regression.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import { requireScope, type Scope } from '../access/visibility.ts';
import type { Database, Transaction } from '../store/database.ts';
import { analysis } from '../store/schema.ts';

export type AnalysisResult = RegressionResult | ComparisonResult;

export interface StoredAnalysis {
  readonly id: string;
  readonly scope: Scope;
  readonly result: AnalysisResult;
}

/** Parsing puts the members of the stored JSON back into the order of the schema: the same answer, the same text. */
const resultSchema = z.discriminatedUnion('kind', [regressionResultSchema, comparisonResultSchema]);

/**
 * An answer by its id.
 * @throws Refusal 'not-found', also when its scope is not open to the principal
 */
export async function getAnalysis(db: Database, principal: Principal, id: string): Promise<StoredAnalysis> {
  permit(principal, 'readShared');
  const found = await findAnalysis(db, id);
  if (found === null) throw new Refusal('not-found', `there is no analysis ${id}`);
  requireScope(principal, found.scope);
  return found;
}

/** The stored answer, or null; gives no permission. */
export async function findAnalysis(db: Database | Transaction, id: string): Promise<StoredAnalysis | null> {
  const [row] = await db.select().from(analysis).where(eq(analysis.id, id));
  if (row === undefined) return null;
  const ordered = resultSchema.safeParse(row.result);
  // An answer of an older schema is given as it was stored.
  return { id, scope: row.scope as Scope, result: ordered.success ? ordered.data : (row.result as AnalysisResult) };
}

/** Stores an answer under its id and returns the one that is kept: the first, if two were computed at once. */
export async function storeAnalysis(db: Database, { id, scope, result }: StoredAnalysis): Promise<StoredAnalysis> {
  await db
    .insert(analysis)
    .values({ id, kind: result.kind, scope, specification: result.specification, result })
    .onConflictDoNothing({ target: analysis.id });
  const kept = await findAnalysis(db, id);
  if (kept === null) throw new Error('the stored analysis is not there');
  return kept;
}
