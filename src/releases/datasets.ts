/** Datasets: a named rule that selects shared shots; releases are made of it. */
import { eq, sql } from 'drizzle-orm';
import { filterSchema } from '../../shared/analysis.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { DatasetInput } from '../../shared/release.ts';
import { appendAudit } from '../access/audit.ts';
import { permit } from '../access/permissions.ts';
import type { Principal } from '../access/principal.ts';
import type { Database } from '../store/database.ts';
import { dataset } from '../store/schema.ts';

export interface Dataset extends DatasetInput {
  /** Instant, ISO 8601 in UTC. */
  readonly createdAt: string;
}

function present(row: typeof dataset.$inferSelect): Dataset {
  const { slug, title, licence, rule, createdAt } = row;
  return { slug, title, licence, filter: filterSchema.parse(rule), createdAt: createdAt.toISOString() };
}

/** Names a rule. Throws Refusal forbidden, name-taken. */
export async function createDataset(db: Database, principal: Principal, input: DatasetInput): Promise<Dataset> {
  permit(principal, 'manageDatasets');
  return db.transaction(async (tx) => {
    const [row] = await tx
      .insert(dataset)
      .values({ slug: input.slug, title: input.title, licence: input.licence, rule: input.filter })
      .onConflictDoNothing({ target: dataset.slug })
      .returning();
    if (row === undefined) throw new Refusal('name-taken', `a dataset is already called ${input.slug}`);
    const detail = { dataset: input.slug, rule: input.filter };
    await appendAudit(tx, null, { tokenId: principal.tokenId, kind: 'dataset-created', detail });
    return present(row);
  });
}

/** All datasets by slug. Throws Refusal. */
export async function listDatasets(db: Database, principal: Principal): Promise<Dataset[]> {
  permit(principal, 'readShared');
  const rows = await db.select().from(dataset).orderBy(sql`${dataset.slug} collate "C"`);
  return rows.map(present);
}

/** One dataset. Throws Refusal not-found. */
export async function getDataset(db: Database, principal: Principal, slug: string): Promise<Dataset> {
  permit(principal, 'readShared');
  const [row] = await db.select().from(dataset).where(eq(dataset.slug, slug));
  if (row === undefined) throw new Refusal('not-found', `there is no dataset ${slug}`);
  return present(row);
}
