/** Answers once given: kept under their id, never computed again, never changed. */
import { eq, sql } from 'drizzle-orm';
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

/** Whether there is an answer of this id. */
export async function isStored(db: Database | Transaction, id: string): Promise<boolean> {
  return (await db.select({ id: analysis.id }).from(analysis).where(eq(analysis.id, id))).length > 0;
}

/** The stored answer of an id that is known to be there; gives no permission. */
export async function requireAnalysis(db: Database | Transaction, id: string): Promise<StoredAnalysis> {
  const found = await findAnalysis(db, id);
  if (found === null) throw new Error(`the stored analysis ${id} is not there`);
  return found;
}

/** Stores an answer under its id and returns the one that is kept: the first, if two were computed at once. */
export async function storeAnalysis(db: Database, { id, scope, result }: StoredAnalysis): Promise<StoredAnalysis> {
  // In the order of the schema, so that what is read back as text is what was given.
  const text = JSON.stringify(resultSchema.parse(result));
  await storeAnswerText(db, { id, scope, kind: result.kind, text, specification: result.specification });
  return requireAnalysis(db, id);
}

/** An answer as its JSON text, in the order of the schema. */
export interface AnswerText {
  readonly id: string;
  readonly scope: Scope;
  readonly kind: AnalysisResult['kind'];
  readonly text: string;
}

/** Stores an answer that was written elsewhere: a long one is not read again just to be kept. The first one counts. */
export async function storeAnswerText(
  db: Database,
  { id, scope, kind, text, specification }: AnswerText & { readonly specification: unknown },
): Promise<void> {
  await db
    .insert(analysis)
    .values({ id, kind, scope, specification, result: sql`${text}::json` })
    .onConflictDoNothing({ target: analysis.id });
}

/**
 * An answer by its id, as the text that is stored.
 * @throws Refusal 'not-found', also when its scope is not open to the principal
 */
export async function getAnswerText(db: Database, principal: Principal, id: string): Promise<AnswerText> {
  permit(principal, 'readShared');
  const [row] = await db
    .select({ scope: analysis.scope, kind: analysis.kind, text: sql<string>`${analysis.result}::text` })
    .from(analysis)
    .where(eq(analysis.id, id));
  if (row === undefined) throw new Refusal('not-found', `there is no analysis ${id}`);
  const scope = requireScope(principal, row.scope);
  return { id, scope, kind: row.kind as AnswerText['kind'], text: row.text };
}
