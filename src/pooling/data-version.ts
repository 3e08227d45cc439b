/** Which state of the data an answer is computed from. */
import { asc } from 'drizzle-orm';
import type { Scope } from '../access/visibility.ts';
import { sightOfScope } from '../access/visibility.ts';
import type { Database, Transaction } from '../store/database.ts';
import { lab, serverState } from '../store/schema.ts';
import { canonicalJson, sha256Hex } from './canonical.ts';
import { compareCodeUnits } from './compare-code-units.ts';

export interface DataVersion {
  /** SHA-256 of database epoch, active method, scope and sorted (lab, version) pairs. */
  readonly digest: string;
  readonly methodVersion: string;
}

/**
 * The data version of a scope. Of labs whose unshared shots the scope does not see only the shared version counts, so
 * an upload that nobody else sees leaves the answers of everybody else as they are. Read it in the transaction that
 * reads the shots.
 */
export async function readDataVersion(db: Database | Transaction, scope: Scope): Promise<DataVersion> {
  const [state] = await db.select().from(serverState);
  if (state === undefined) throw new Error('the database has no server state');
  const labs = await db
    .select({ slug: lab.slug, version: lab.version, sharedVersion: lab.sharedVersion })
    .from(lab)
    .orderBy(asc(lab.id));
  const { ownLab } = sightOfScope(scope);
  const versions = labs
    .map(({ slug, version, sharedVersion }): [string, number] => [slug, slug === ownLab ? version : sharedVersion])
    .sort(([first], [second]) => compareCodeUnits(first, second));
  const digest = sha256Hex(canonicalJson({ epoch: state.epoch, method: state.activeMethod, scope, versions }));
  return { digest, methodVersion: state.activeMethod };
}
