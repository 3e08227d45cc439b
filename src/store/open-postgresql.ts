/** A PostgreSQL server, version 15 or later, through a pool of connections. */
import { drizzle } from 'drizzle-orm/node-postgres';
import pg from 'pg';
import { copyOut } from './copy-out.ts';
import type { OpenDatabase, Snapshot } from './database.ts';
import { listenPostgresql } from './listen-postgresql.ts';
import { migrate } from './migrate.ts';
import * as schema from './schema.ts';

const oldestVersion = 150_000;

/**
 * Connects, migrates over a connection of its own, and opens the pool.
 * @throws Error when the server cannot be reached or is too old; MigrationError
 */
export async function openPostgresql(databaseUrl: string): Promise<OpenDatabase> {
  const client = new pg.Client({ connectionString: databaseUrl, connectionTimeoutMillis: 10_000 });
  // Without a listener a connection lost between queries would end the process; the next query reports it.
  client.on('error', () => {});
  const place = describeAddress(client);
  try {
    await client.connect();
  } catch (cause) {
    throw new Error(`${place} cannot be reached: check DATABASE_URL and that the server runs.`, { cause });
  }
  let version: string;
  try {
    version = await checkVersion(client, place);
    await migrate(client);
  } finally {
    await client.end();
  }
  const pool = new pg.Pool({ connectionString: databaseUrl, max: 10, application_name: 'shot-commons' });
  pool.on('error', () => {});
  let closing: Promise<void> | undefined;
  return {
    db: drizzle(pool, { schema }),
    kind: 'postgresql',
    description: `PostgreSQL ${version}, ${place}`,
    snapshot: (work) => snapshotOf(pool, work),
    listen: (channel, hear) => listenPostgresql(databaseUrl, channel, hear),
    close() {
      closing ??= pool.end();
      return closing;
    },
  };
}

async function snapshotOf<Result>(pool: pg.Pool, work: (snapshot: Snapshot) => Promise<Result>): Promise<Result> {
  const client = await pool.connect();
  let broken: Error | undefined;
  try {
    await client.query('begin isolation level repeatable read read only');
    const tx = drizzle(client, { schema });
    const result = await work({ tx, copy: (query, take) => copyOut(client, query, take) });
    await client.query('commit');
    return result;
  } catch (error) {
    await client.query('rollback').catch((failure: Error) => {
      broken = failure;
    });
    throw error;
  } finally {
    // A connection that cannot even end its transaction is not given to anybody else.
    client.release(broken);
  }
}

async function checkVersion(client: pg.Client, place: string): Promise<string> {
  const { rows } = await client.query<{ number: string; version: string }>(
    "select current_setting('server_version_num') as number, current_setting('server_version') as version",
  );
  const row = rows[0];
  if (row === undefined) throw new Error(`${place} did not tell its version.`);
  refuseOldServer(Number(row.number), row.version, place);
  return row.version;
}

/** @throws Error when the server is older than PostgreSQL 15 */
export function refuseOldServer(versionNumber: number, version: string, place: string): void {
  if (versionNumber >= oldestVersion) return;
  throw new Error(
    `${place} runs PostgreSQL ${version}, but version 15 or later is needed: upgrade the server, ` +
      'or leave DATABASE_URL empty to use the embedded database.',
  );
}

/** Where the database is, without user and password. */
function describeAddress(client: pg.Client): string {
  return `database ${client.database ?? ''} at ${client.host}${client.host.startsWith('/') ? '' : `:${client.port}`}`;
}
