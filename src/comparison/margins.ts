/** Equivalence margins: declared with a reason and the server's time, superseded but never edited. */
import { randomUUID } from 'node:crypto';
import { desc, eq, sql } from 'drizzle-orm';
import { alias } from 'drizzle-orm/pg-core';
import { z } from 'zod';
import { type Margin, marginInputSchema, marginSchema } from '../../shared/comparison.ts';
import type { VariableName } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import { appendAudit } from '../access/audit.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import type { Database, Transaction } from '../store/database.ts';
import { equivalenceMargin } from '../store/schema.ts';
import { marginSize } from './margin-size.ts';

export type MarginInput = z.output<typeof marginInputSchema>;

/**
 * Declares a margin. Its time is the database clock at the end of the transaction, so that no shot received before it
 * can count as received after.
 * @throws Refusal 'forbidden', 'not-found' or 'request-invalid' for a margin to supersede that is unknown or of another
 *   variable, 'margin-superseded' when another one has superseded it already, 'request-invalid' for a unit that is not one of the
 *   variable
 */
export async function declareMargin(db: Database, principal: Principal, input: MarginInput): Promise<Margin> {
  permit(principal, 'declareMargin');
  const { variable, value: asSent, ballDiameter, reason, supersedes } = marginInputSchema.parse(input);
  const value = marginSize(variable, asSent, ballDiameter);
  const id = randomUUID();
  await db.transaction(async (tx) => {
    if (supersedes !== undefined) {
      const old = await requireMargin(tx, supersedes);
      if (old.variable !== variable) throw ofAnotherVariable(old, variable);
    }
    // What was sent stays in the audit chain beside the SI value.
    const sent = { asSent, ballDiameter: ballDiameter ?? null };
    const detail = { margin: id, variable, value, ...sent, reason, supersedes: supersedes ?? null };
    await appendAudit(tx, null, { tokenId: principal.tokenId, kind: 'margin-declared', detail });
    const rows = await tx
      .insert(equivalenceMargin)
      .values({
        id,
        variable,
        value,
        reason,
        tokenId: principal.tokenId,
        supersedes: supersedes ?? null,
        declaredAt: sql`clock_timestamp()`,
      })
      .onConflictDoNothing({ target: equivalenceMargin.supersedes })
      .returning({ id: equivalenceMargin.id });
    if (rows.length === 0) throw new Refusal('margin-superseded', `the margin ${supersedes} was superseded already`);
  });
  return requireMargin(db, id);
}

/** All margins, newest first. */
export async function listMargins(db: Database, principal: Principal): Promise<Margin[]> {
  permit(principal, 'readShared');
  const rows = await marginRows(db).orderBy(desc(equivalenceMargin.declaredAt), desc(equivalenceMargin.id));
  return rows.map(present);
}

/** @throws Refusal 'not-found' */
export async function getMargin(db: Database, principal: Principal, id: string): Promise<Margin> {
  permit(principal, 'readShared');
  return requireMargin(db, id);
}

/**
 * The margin that a comparison of `response` may use; gives no permission.
 * @throws Refusal 'not-found', 'margin-superseded', or 'request-invalid' when it is for another variable
 */
export async function marginToApply(db: Database | Transaction, id: string, response: VariableName): Promise<Margin> {
  const margin = await requireMargin(db, id);
  if (margin.supersededBy !== null) {
    throw new Refusal('margin-superseded', `the margin ${id} was superseded by ${margin.supersededBy}`);
  }
  if (margin.variable !== response) throw ofAnotherVariable(margin, response);
  return margin;
}

const successor = alias(equivalenceMargin, 'successor');

function marginRows(db: Database | Transaction) {
  return db
    .select({
      id: equivalenceMargin.id,
      variable: equivalenceMargin.variable,
      value: equivalenceMargin.value,
      reason: equivalenceMargin.reason,
      supersedes: equivalenceMargin.supersedes,
      declaredAt: equivalenceMargin.declaredAt,
      supersededBy: successor.id,
    })
    .from(equivalenceMargin)
    .leftJoin(successor, eq(successor.supersedes, equivalenceMargin.id))
    .$dynamic();
}

async function requireMargin(db: Database | Transaction, id: string): Promise<Margin> {
  const rows = z.uuid().safeParse(id).success ? await marginRows(db).where(eq(equivalenceMargin.id, id)) : [];
  const [row] = rows;
  if (row === undefined) throw new Refusal('not-found', `there is no margin ${id}`);
  return present(row);
}

type MarginRow = Awaited<ReturnType<typeof marginRows>>[number];

function present({ supersedes, declaredAt, ...row }: MarginRow): Margin {
  return marginSchema.parse({
    ...row,
    declaredAt: declaredAt.toISOString(),
    ...(supersedes === null ? {} : { supersedes }),
  });
}

function ofAnotherVariable({ id, variable }: Margin, wanted: VariableName): Refusal {
  return new Refusal('request-invalid', `the margin ${id} is for ${variable}, not for ${wanted}`);
}
