/** Rows of derivation. */
import { sql } from 'drizzle-orm';
import type { DerivedShot } from '../../../shared/derivation.ts';
import { copyRows } from '../../store/copy-rows.ts';
import type { Transaction } from '../../store/database.ts';
import type { StoredRevision } from './insert-revisions.ts';
import { unnest } from './unnest.ts';

/** The derivations of new revisions, which have none yet. */
export async function insertFirstDerivations(tx: Transaction, revisions: readonly StoredRevision[]): Promise<void> {
  await copyRows(tx, 'derivation (revision_id, method_version, derived)', (rows) => {
    for (const { id, shot } of revisions) {
      for (const { methodVersion, derived } of shot.ready.derivations) {
        rows.row(3).int8(id).text(methodVersion).binary(derived);
      }
    }
  });
}

export interface NewDerivation {
  readonly revisionId: number;
  readonly derived: DerivedShot;
}

/** Derivations that are there already stay as they are: a method version gives one result for a revision. */
export async function insertDerivations(tx: Transaction, derivations: readonly NewDerivation[]): Promise<void> {
  const given = unnest(derivations, [
    { name: 'revision_id', type: 'bigint', of: ({ revisionId }) => revisionId },
    { name: 'method_version', type: 'text', of: ({ derived }) => derived.methodVersion },
    { name: 'derived', type: 'text', of: ({ derived }) => JSON.stringify(derived) },
  ]);
  await tx.execute(sql`
    insert into derivation (revision_id, method_version, derived)
    select revision_id, method_version, derived::json from ${given}
    on conflict (revision_id, method_version) do nothing`);
}
