/** The one database type that every use case takes: PGlite and node-postgres behind the same drizzle interface. */
import type { PgDatabase, PgQueryResultHKT } from 'drizzle-orm/pg-core';
import type * as schema from './schema.ts';

export type Database = PgDatabase<PgQueryResultHKT, typeof schema>;
/** Inside a transaction only this may be used: on PGlite the outer database would wait for itself for ever. */
export type Transaction = Parameters<Parameters<Database['transaction']>[0]>[0];

export interface OpenDatabase {
  readonly db: Database;
  readonly kind: 'embedded' | 'postgresql';
  /** What and where, for the log; holds no password. */
  readonly description: string;
  /** Ends all connections and gives the data directory free. May be called more than once. */
  close(): Promise<void>;
}
