/** The one way to a database: opened, locked where it is embedded, and migrated. */
import type { OpenDatabase } from './database.ts';
import { openEmbedded } from './open-embedded.ts';
import { openPostgresql } from './open-postgresql.ts';

export type { OpenDatabase };

export interface DatabaseOptions {
  /** Address of a PostgreSQL 15 or later; when given and not empty, the data directory is not used. */
  readonly databaseUrl?: string | undefined;
  /** Directory of the embedded database; null keeps it in memory. */
  readonly dataDirectory?: string | null | undefined;
}

/**
 * Opens PostgreSQL when an address is given, else the embedded database.
 * @throws Error with a message that says what to do: server unreachable or too old, data directory in use, migrations
 *   that do not fit this build
 */
export function openDatabase(options: DatabaseOptions): Promise<OpenDatabase> {
  if (options.databaseUrl !== undefined && options.databaseUrl !== '') return openPostgresql(options.databaseUrl);
  return openEmbedded(options.dataDirectory ?? null);
}
