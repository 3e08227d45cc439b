/** The derivation of one shot, explained. */
import { eq } from 'drizzle-orm';
import type { DerivedShot } from '../../shared/derivation.ts';
import type { ExplainedDerivation } from '../../shared/explanation.ts';
import type { Principal } from '../access/principal.ts';
import { explainDerivation } from '../derivation/explain/explain-derivation.ts';
import type { Database } from '../store/database.ts';
import { shot, shotRevision } from '../store/schema.ts';
import { getDerivation, getShot } from './shots.ts';
import { type DerivableShot, StoredShots } from './stored-shots.ts';

export interface DerivedAndSent extends DerivableShot {
  readonly derived: DerivedShot;
  readonly lab: string;
  /** Number of the revision. */
  readonly revision: number;
}

/**
 * The current revision of a visible shot as sent, with what a method version computed from it.
 *
 * @param method the active one when not given
 * @throws Refusal unauthenticated, not-found
 */
export async function loadDerivedShot(
  db: Database,
  principal: Principal,
  id: string,
  method?: string,
): Promise<DerivedAndSent> {
  const { lab } = await getShot(db, principal, id);
  const derived = await getDerivation(db, principal, id, method);
  const rows = await db
    .select({ labId: shot.labId, shared: shot.shared, revision: shotRevision })
    .from(shot)
    .innerJoin(shotRevision, eq(shotRevision.id, shot.currentRevisionId))
    .where(eq(shot.id, id));
  const [assembled] = await new StoredShots(db).assemble(rows);
  if (assembled === undefined) throw new Error(`shot ${id} has no current revision`);
  return { ...assembled, derived, lab, revision: rows[0]?.revision.number ?? 0 };
}

/** @throws Refusal unauthenticated, not-found */
export async function explainShot(
  db: Database,
  principal: Principal,
  id: string,
  method?: string,
): Promise<ExplainedDerivation> {
  const { shot: sent, gear, derived, lab, revision } = await loadDerivedShot(db, principal, id, method);
  const { methodVersion } = derived;
  const query = method === undefined ? '' : `?method=${encodeURIComponent(method)}`;
  return {
    shot: id,
    lab,
    label: sent.label,
    revision,
    methodVersion,
    result: derived,
    ...explainDerivation(sent, gear, derived),
    figure: `/v1/shots/${id}/figure.svg${query}`,
  };
}
