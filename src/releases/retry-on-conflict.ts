/** Transactions that see one fixed state may lose a race with another writer; they are then run again from the start. */

const attempts = 5;
/** SQLSTATE: serialization failure, deadlock, and a number that another transaction took meanwhile. */
const conflicts = new Set(['40001', '40P01', '23505']);

function isConflict(error: unknown): boolean {
  const state = error instanceof Error && typeof error.cause === 'object' ? error.cause : null;
  return state !== null && 'code' in state && typeof state.code === 'string' && conflicts.has(state.code);
}

/** Runs a whole transaction, again up to four more times when it lost a race. Throws what the last run threw. */
export async function retryOnConflict<Result>(transaction: () => Promise<Result>): Promise<Result> {
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await transaction();
    } catch (error) {
      if (attempt === attempts || !isConflict(error)) throw error;
    }
  }
}
