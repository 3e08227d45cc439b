/** What went wrong inside, as far as a caller or the log may know it. */

/** SQLSTATE classes that mean the database is away or shutting down, not that the request was wrong. */
const databaseAway = /^(08|57P|53)/;

interface Cause {
  readonly code?: unknown;
  readonly cause?: unknown;
}

/** Whether an error means that the database does not answer. */
export function isDatabaseAway(error: unknown): boolean {
  for (let cause = error as Cause | undefined, depth = 0; cause instanceof Error && depth < 5; depth += 1) {
    const code: unknown = (cause as Cause).code;
    if (typeof code === 'string' && (databaseAway.test(code) || code === 'ECONNREFUSED' || code === 'ECONNRESET')) {
      return true;
    }
    cause = (cause as Cause).cause as Cause | undefined;
  }
  return false;
}

/** What of an error may stand in the log: a failed query without its parameters, which hold what people sent. */
export function loggable(error: Error): Error {
  return 'params' in error && error.cause instanceof Error ? error.cause : error;
}
