/** The shots of a frozen release as columns, from the revisions and derivations that it fixes. */
import { and, asc, eq, gt, or, sql } from 'drizzle-orm';
import type { DerivedShot } from '../../shared/derivation.ts';
import { Refusal } from '../../shared/refusal.ts';
import { gearReferences } from '../access/gear-tables.ts';
import type { Database, Transaction } from '../store/database.ts';
import {
  cue,
  dataset,
  derivation,
  lab,
  release,
  releaseMember,
  rig,
  shot,
  shotRevision,
  tableSetup,
} from '../store/schema.ts';
import { ColumnsBuilder } from './assemble-columns.ts';
import type { ShotColumns } from './columns.ts';
import { rowOfDerived } from './row-of-derived.ts';

export interface ReleaseSource {
  readonly id: number;
  /** dataset@number. */
  readonly reference: string;
  readonly digest: string;
  readonly methodVersion: string;
}

export interface ReleaseColumns extends Omit<ReleaseSource, 'id'> {
  readonly columns: ShotColumns;
}

const batchSize = 5_000;

/**
 * The release that a reference names.
 * @param reference dataset@number or the digest
 * @throws Refusal 'not-found'
 */
export async function findReleaseSource(db: Database | Transaction, reference: string): Promise<ReleaseSource> {
  const numbered = /^([^@]+)@([1-9][0-9]{0,8})$/.exec(reference);
  const [row] = await db
    .select({
      id: release.id,
      slug: dataset.slug,
      number: release.number,
      digest: release.digest,
      methodVersion: release.methodVersion,
    })
    .from(release)
    .innerJoin(dataset, eq(dataset.id, release.datasetId))
    .where(
      numbered === null
        ? eq(release.digest, reference)
        : and(eq(dataset.slug, numbered[1] as string), eq(release.number, Number(numbered[2]))),
    );
  if (row === undefined) throw new Refusal('not-found', `there is no release ${reference}`);
  const { id, slug, number, digest, methodVersion } = row;
  return { id, reference: `${slug}@${number}`, digest, methodVersion };
}

/**
 * Columns of every shot of a release, as it was frozen. A release never changes, so no transaction is needed.
 * @throws Refusal 'not-found'
 */
export async function loadReleaseColumns(db: Database | Transaction, reference: string): Promise<ReleaseColumns> {
  const { id, ...source } = await findReleaseSource(db, reference);
  const builder = new ColumnsBuilder();
  let last: { labId: number; ordinal: number } | null = null;
  for (;;) {
    const rows: MemberRow[] = await batchAfter(db, id, last);
    for (const row of rows) {
      const { lab: slug, ordinal, receivedAt, derived, ...content } = row;
      // Written by this service under its own schema and never changed since.
      builder.push(
        rowOfDerived(withoutNulls(content), derived as DerivedShot, {
          lab: slug,
          ordinal,
          receivedAt: receivedAt.getTime(),
        }),
      );
    }
    const end = rows.at(-1);
    if (end === undefined || rows.length < batchSize) return { ...source, columns: builder.finish() };
    last = { labId: end.labId, ordinal: end.ordinal };
  }
}

type MemberRow = Awaited<ReturnType<typeof batchAfter>>[number];

function batchAfter(
  db: Database | Transaction,
  releaseId: number,
  last: { readonly labId: number; readonly ordinal: number } | null,
) {
  const text = (field: string) => sql<string | null>`${shotRevision.content} ->> ${sql.raw(`'${field}'`)}`;
  const after =
    last === null
      ? undefined
      : or(
          gt(releaseMember.labId, last.labId),
          and(eq(releaseMember.labId, last.labId), gt(releaseMember.ordinal, last.ordinal)),
        );
  return db
    .select({
      lab: lab.slug,
      labId: releaseMember.labId,
      ordinal: releaseMember.ordinal,
      label: shot.label,
      ...gearReferences,
      // A shot is stored as sent; straight is what is meant when nothing was said.
      straight: sql<boolean>`coalesce((${shotRevision.content} ->> 'straight')::boolean, true)`,
      player: text('player'),
      strokeStyle: sql<string | null>`coalesce('=' || ${releaseMember.strokeStyleTerm}, ${text('strokeStyle')})`,
      grip: sql<string | null>`coalesce('=' || ${releaseMember.gripTerm}, ${text('grip')})`,
      sessionDate: text('sessionDate'),
      receivedAt: shotRevision.firstReceivedAt,
      derived: derivation.derived,
    })
    .from(releaseMember)
    .innerJoin(lab, eq(lab.id, releaseMember.labId))
    .innerJoin(shotRevision, eq(shotRevision.id, releaseMember.revisionId))
    .innerJoin(shot, eq(shot.id, shotRevision.shotId))
    .innerJoin(derivation, eq(derivation.id, releaseMember.derivationId))
    .innerJoin(rig, eq(rig.id, shotRevision.rigId))
    .leftJoin(cue, eq(cue.id, shotRevision.cueId))
    .leftJoin(tableSetup, eq(tableSetup.id, shotRevision.tableId))
    .where(and(eq(releaseMember.releaseId, releaseId), after))
    .orderBy(asc(releaseMember.labId), asc(releaseMember.ordinal))
    .limit(batchSize);
}

function withoutNulls(content: Omit<MemberRow, 'lab' | 'labId' | 'ordinal' | 'receivedAt' | 'derived'> & object) {
  const { label, rig: rigName, straight } = content;
  const optional = ['cue', 'table', 'player', 'strokeStyle', 'grip', 'sessionDate'] as const;
  const given: { [Name in (typeof optional)[number]]?: string } = {};
  for (const name of optional) {
    const value = content[name];
    if (value !== null) given[name] = value;
  }
  return { label, rig: rigName ?? '', straight, ...given };
}
