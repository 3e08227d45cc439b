/** The one database type that every use case takes: PGlite and node-postgres behind the same drizzle interface. */
import type { PgDatabase, PgQueryResultHKT } from 'drizzle-orm/pg-core';
import type * as schema from './schema.ts';

/** What both drivers return for raw SQL. Values of raw rows differ by driver (int8 is text or number): cast in SQL. */
interface Rows<Row> {
  readonly rows: Row[];
}
interface RowsResult extends PgQueryResultHKT {
  readonly type: Rows<this['row']>;
}

export type Database = PgDatabase<RowsResult, typeof schema>;
/** Inside a transaction only this may be used: on PGlite the outer database would wait for itself for ever. */
export type Transaction = Parameters<Parameters<Database['transaction']>[0]>[0];

/** A channel that is being listened to. */
export interface Listening {
  /** Resolves when nothing is heard any more, whether closed or lost. */
  readonly lost: Promise<void>;
  close(): Promise<void>;
}

/** One state of the database, for reading. */
export interface Snapshot {
  readonly tx: Database | Transaction;
  /**
   * Copies the rows of a query out in the binary format of COPY, see copied-rows.ts.
   * @param query a select without parameters
   * @param take gets whole rows at a time; the bytes are valid during the call only
   */
  copy(query: string, take: (bytes: Uint8Array) => void): Promise<void>;
}

export interface OpenDatabase {
  readonly db: Database;
  readonly kind: 'embedded' | 'postgresql';
  /** What and where, for the log; holds no password. */
  readonly description: string;
  /**
   * Hears what is notified on a channel, over a connection of its own where there is more than one.
   * @throws Error when no connection can be had
   */
  listen(channel: string, hear: (payload: string) => void): Promise<Listening>;
  /** Reads from one state of the database: everything in `work` sees the same commits. */
  snapshot<Result>(work: (snapshot: Snapshot) => Promise<Result>): Promise<Result>;
  /** Ends all connections and gives the data directory free. May be called more than once. */
  close(): Promise<void>;
}
