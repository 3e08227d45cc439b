/**
 * Stroke styles and grips: the curator keeps a small vocabulary, and each lab says which term each of its codes means.
 * Only mapped codes can be compared across labs. The hot table holds a term as `=term`; a code never begins with `=`.
 */
import { and, eq, sql } from 'drizzle-orm';
import { Refusal } from '../../shared/refusal.ts';
import type { VocabularyKind, VocabularyMapping, VocabularyTerm } from '../../shared/vocabulary.ts';
import type { Database, Transaction } from '../store/database.ts';
import { vocabularyMapping, vocabularyTerm } from '../store/schema.ts';
import { appendAudit } from './audit.ts';
import { bumpLabVersion, lockLab } from './lab-version.ts';
import { requireLab } from './labs.ts';
import { permit } from './permissions.ts';
import type { Principal } from './principal.ts';

/** All terms by kind and code. */
export async function listTerms(db: Database): Promise<VocabularyTerm[]> {
  const rows = await db
    .select()
    .from(vocabularyTerm)
    .orderBy(sql`${vocabularyTerm.kind} collate "C"`, sql`${vocabularyTerm.code} collate "C"`);
  return rows.map(({ kind, code, meaning }) => ({ kind: kind as VocabularyKind, code, meaning }));
}

/**
 * Adds a term. Terms are never changed: what is published under one keeps its meaning.
 * @throws Refusal forbidden, name-taken
 */
export async function addTerm(db: Database, principal: Principal, term: VocabularyTerm): Promise<VocabularyTerm> {
  permit(principal, 'manageVocabularies');
  return db.transaction(async (tx) => {
    const rows = await tx.insert(vocabularyTerm).values(term).onConflictDoNothing().returning();
    if (rows.length === 0) throw new Refusal('name-taken', `There is a term ${term.code} of ${term.kind} already.`);
    await appendAudit(tx, null, { tokenId: principal.tokenId, kind: 'term-added', detail: { ...term } });
    return term;
  });
}

/** Codes of a lab with the term that each means; everybody who reads shared data may know them. */
export async function listMappings(db: Database, principal: Principal, labSlug: string): Promise<VocabularyMapping[]> {
  permit(principal, 'readShared');
  const { id } = await requireLab(db, labSlug);
  const rows = await db
    .select()
    .from(vocabularyMapping)
    .where(eq(vocabularyMapping.labId, id))
    .orderBy(sql`${vocabularyMapping.kind} collate "C"`, sql`${vocabularyMapping.code} collate "C"`);
  return rows.map(({ kind, code, term }) => ({ kind: kind as VocabularyKind, code, term }));
}

/**
 * Maps a code of the lab onto a term, in place of an earlier one; `term` null takes the mapping back. Answers computed
 * from now on see it for every shot of the lab; releases keep what they were frozen with.
 *
 * @throws Refusal forbidden, unauthenticated, not-found
 */
export async function mapCode(
  db: Database,
  principal: Principal,
  labSlug: string,
  { kind, code, term }: Omit<VocabularyMapping, 'term'> & { readonly term: string | null },
): Promise<void> {
  permit(principal, 'changeGear', labSlug);
  const { id: labId } = await requireLab(db, labSlug);
  await db.transaction(async (tx) => {
    await lockLab(tx, labId);
    if (term === null) {
      const { labId: lab, kind: ofKind, code: ofCode } = vocabularyMapping;
      await tx.delete(vocabularyMapping).where(and(eq(lab, labId), eq(ofKind, kind), eq(ofCode, code)));
    } else {
      const known = and(eq(vocabularyTerm.kind, kind), eq(vocabularyTerm.code, term));
      const [found] = await tx.select({ code: vocabularyTerm.code }).from(vocabularyTerm).where(known);
      if (found === undefined) throw new Refusal('not-found', `There is no term ${term} of ${kind}.`);
      const { labId: lab, kind: ofKind, code: ofCode } = vocabularyMapping;
      await tx
        .insert(vocabularyMapping)
        .values({ labId, kind, code, term })
        .onConflictDoUpdate({ target: [lab, ofKind, ofCode], set: { term } });
    }
    await applyVocabulary(tx, labId, null);
    await appendAudit(tx, labId, { tokenId: principal.tokenId, kind: 'code-mapped', detail: { kind, code, term } });
    await bumpLabVersion(tx, labId, { sharedChanged: true });
  });
}

/**
 * Writes the terms of a lab into its rows of the hot table, from what the current revisions say.
 * @param ordinals of new rows, which hold the codes as sent; null for every row of the lab
 */
export async function applyVocabulary(tx: Transaction, labId: number, ordinals: readonly number[] | null) {
  const named = (kind: VocabularyKind) => {
    const sent = sql`r.content->>${sql.raw(`'${kind}'`)}`;
    return sql`coalesce((select '=' || m.term from vocabulary_mapping m
      where m.lab_id = ${labId}::int and m.kind = ${kind} and m.code = ${sent}), ${sent})`;
  };
  const which =
    ordinals === null
      ? sql`true`
      : sql`h.ordinal = any(${sql.param([...ordinals])}::int[])
          and exists (select 1 from vocabulary_mapping m where m.lab_id = ${labId}::int)`;
  await tx.execute(sql`
    update hot_shot h set stroke_style = ${named('strokeStyle')}, grip = ${named('grip')}
    from shot_revision r where r.id = h.revision_id and h.lab_id = ${labId}::int and ${which}`);
}
