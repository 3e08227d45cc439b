/** The method version that the database answers with. */
import { Refusal } from '../../shared/refusal.ts';
import { type Methods, type MethodsInUse, methodsInUse } from '../derivation/methods.ts';
import type { Database, Transaction } from '../store/database.ts';
import { serverState } from '../store/schema.ts';

function missing(): Error {
  return new Error('the database has no server state');
}

export async function readActiveMethod(db: Database | Transaction): Promise<string> {
  const [state] = await db.select({ method: serverState.activeMethod }).from(serverState);
  if (state === undefined) throw missing();
  return state.method;
}

/**
 * Reads the active method and keeps it so to the end of the transaction. Taken after the lab's lock: an activation
 * locks all labs first.
 */
export async function holdActiveMethod(tx: Transaction): Promise<string> {
  const [state] = await tx.select({ method: serverState.activeMethod }).from(serverState).for('share');
  if (state === undefined) throw missing();
  return state.method;
}

/** @throws Refusal 'not-ready' when this code does not have the active version */
export function requireMethods(methods: Methods, active: string): MethodsInUse {
  const inUse = methodsInUse(methods, active);
  if (inUse === null) throw olderThanDatabase(active);
  return inUse;
}

export function olderThanDatabase(active: string): Refusal {
  return new Refusal(
    'not-ready',
    `The database answers with method version ${active}, which this server does not have: start a newer build of it.`,
  );
}
