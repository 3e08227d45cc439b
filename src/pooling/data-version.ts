/** Which state of the data an answer is computed from. */
import type { Scope } from '../access/visibility.ts';
import { sightOfScope } from '../access/visibility.ts';
import type { Database, Transaction } from '../store/database.ts';
import { canonicalJson, sha256Hex } from './canonical.ts';
import { compareCodeUnits } from './compare-code-units.ts';
import { readVersions, type Versions } from './version-book.ts';

export interface DataVersion {
  /** SHA-256 of database epoch, active method, scope and sorted (lab, version) pairs. */
  readonly digest: string;
  readonly methodVersion: string;
}

/** Digests of a state that is asked for again and again. */
const digests = new WeakMap<Versions, Map<Scope, string>>();

/**
 * The data version of a scope. Of labs whose unshared shots the scope does not see only the shared version counts, so
 * an upload that nobody else sees leaves the answers of everybody else as they are.
 */
export function dataVersionOf(state: Versions, scope: Scope): DataVersion {
  let known = digests.get(state);
  if (known === undefined) {
    known = new Map();
    digests.set(state, known);
  }
  const { epoch, activeMethod: method } = state;
  let digest = known.get(scope);
  if (digest === undefined) {
    const { ownLab } = sightOfScope(scope);
    const versions = [...state.labs]
      .map(([slug, { version, sharedVersion }]): [string, number] => [slug, slug === ownLab ? version : sharedVersion])
      .sort(([first], [second]) => compareCodeUnits(first, second));
    digest = sha256Hex(canonicalJson({ epoch, method, scope, versions }));
    known.set(scope, digest);
  }
  return { digest, methodVersion: method };
}

/** The data version now, from the database. Read it in the transaction that reads the shots. */
export async function readDataVersion(db: Database | Transaction, scope: Scope): Promise<DataVersion> {
  return dataVersionOf(await readVersions(db), scope);
}
