/**
 * The lab's row lock and its versions. A writing transaction bumps the version as its last step: the lock is then held
 * to the commit, so the order of versions is the order of commits.
 */
import { eq, sql } from 'drizzle-orm';
import { publishNotice } from '../notices/publish-notice.ts';
import type { Transaction } from '../store/database.ts';
import { lab } from '../store/schema.ts';

export interface LockedLab {
  readonly id: number;
  readonly slug: string;
  readonly version: number;
  readonly sharedVersion: number;
  /** Ordinal of the lab's next new shot. */
  readonly nextOrdinal: number;
}

/**
 * Takes the row lock of a lab until the end of the transaction. Labs are locked before anything else of theirs.
 * @throws Error when there is no such lab
 */
export async function lockLab(tx: Transaction, labId: number): Promise<LockedLab> {
  const rows = await tx
    .select({
      id: lab.id,
      slug: lab.slug,
      version: lab.version,
      sharedVersion: lab.sharedVersion,
      nextOrdinal: lab.nextOrdinal,
    })
    .from(lab)
    .where(eq(lab.id, labId))
    // Inserts that refer to the lab need not wait for this lock.
    .for('no key update');
  const row = rows[0];
  if (row === undefined) throw new Error(`There is no lab with id ${labId}.`);
  return row;
}

/**
 * Bumps the version, and the shared version when something shared changed, and lets every server know. The last step of
 * a writing transaction.
 */
export async function bumpLabVersion(
  tx: Transaction,
  labId: number,
  { sharedChanged }: { readonly sharedChanged: boolean },
): Promise<void> {
  const [moved] = await tx
    .update(lab)
    .set({
      version: sql`${lab.version} + 1`,
      ...(sharedChanged ? { sharedVersion: sql`${lab.sharedVersion} + 1` } : {}),
    })
    .where(eq(lab.id, labId))
    .returning({ lab: lab.slug, version: lab.version, sharedVersion: lab.sharedVersion });
  if (moved === undefined) throw new Error(`There is no lab with id ${labId}.`);
  await publishNotice(tx, { kind: 'labVersion', ...moved });
}
