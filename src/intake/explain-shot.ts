/** The derivation of one shot, explained. */
import { and, eq, inArray } from 'drizzle-orm';
import type { DerivedShot } from '../../shared/derivation.ts';
import type { ExplainedDerivation } from '../../shared/explanation.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { Principal } from '../access/principal.ts';
import { explainDerivation } from '../derivation/explain/explain-derivation.ts';
import type { Database } from '../store/database.ts';
import { derivation, shot, shotRevision } from '../store/schema.ts';
import { getShot, shotsById } from './shots.ts';
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
  const { lab, revision, derived } = await getShot(db, principal, id);
  // By its number: another revision may become the current one meanwhile.
  const rows = await db
    .select({ labId: shot.labId, shared: shot.shared, revision: shotRevision })
    .from(shot)
    .innerJoin(shotRevision, eq(shotRevision.shotId, shot.id))
    .where(and(eq(shot.id, id), eq(shotRevision.number, revision)));
  const [assembled] = await new StoredShots(db).assemble(rows);
  if (assembled === undefined) throw new Error(`shot ${id} has no revision ${revision}`);
  if (method === undefined || method === derived.methodVersion) return { ...assembled, derived, lab, revision };
  const [beside] = await db
    .select({ derived: derivation.derived })
    .from(derivation)
    .where(and(eq(derivation.revisionId, assembled.revisionId), eq(derivation.methodVersion, method)));
  if (beside === undefined) {
    throw new Refusal('not-found', `Shot ${id} was not derived under method version ${method}.`);
  }
  // Written by this service under the schema of the wire contract.
  return { ...assembled, derived: beside.derived as DerivedShot, lab, revision };
}

/** @throws Refusal unauthenticated, not-found */
export async function explainShot(
  db: Database,
  principal: Principal,
  id: string,
  method?: string,
): Promise<ExplainedDerivation> {
  const found = await loadDerivedShot(db, principal, id, method);
  return explained(id, found, method === undefined ? '' : `?method=${encodeURIComponent(method)}`);
}

/** Derivations of several shots under the active method; those that may not be seen are left out. */
export async function explainShots(
  db: Database,
  principal: Principal,
  ids: readonly string[],
): Promise<Map<string, ExplainedDerivation>> {
  const current = await shotsById(db, principal, ids);
  const rows = await db
    .select({ id: shot.id, labId: shot.labId, shared: shot.shared, revision: shotRevision })
    .from(shot)
    .innerJoin(shotRevision, eq(shotRevision.shotId, shot.id))
    .where(inArray(shot.id, [...current.keys()]));
  // By its number: another revision may have become the current one meanwhile.
  const wanted = rows.filter(({ id, revision }) => current.get(id)?.revision === revision.number);
  const assembled = await new StoredShots(db).assemble(wanted);
  return new Map(
    wanted.flatMap(({ id }, place) => {
      const [sent, state] = [assembled[place], current.get(id)];
      if (sent === undefined || state === undefined) return [];
      const { derived, lab, revision } = state;
      return [[id, explained(id, { ...sent, derived, lab, revision }, '')] as const];
    }),
  );
}

function explained(id: string, found: DerivedAndSent, query: string): ExplainedDerivation {
  const { shot: sent, gear, derived, lab, revision } = found;
  const { methodVersion } = derived;
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
