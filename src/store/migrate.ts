/**
 * Brings a database to the schema of this build. Migrations are numbered, append-only, and run one transaction each;
 * an advisory lock held by one connection lets several servers start at once.
 */
import { join } from 'node:path';
import { advisoryLocks } from './advisory-locks.ts';
import { type MigrationFile, readMigrationFiles } from './migration-files.ts';
import { packageRoot } from './package-root.ts';

/** One connection (never a pool: the advisory lock and the transactions belong to it). */
export interface MigrationConnection {
  query(text: string, parameters?: unknown[]): Promise<{ rows: Record<string, unknown>[] }>;
}

interface AppliedMigration {
  readonly name: string;
  readonly digest: string;
}

export class MigrationError extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'MigrationError';
  }
}

/**
 * The method version that a fresh database starts with: the newest one that is published. A database that exists keeps
 * its own; later ones are activated there, never assumed.
 */
const firstMethod = '2';

/**
 * Applies what is missing and makes sure that the row of server_state exists.
 * @returns names of the migrations applied now, in order
 * @throws MigrationError when the database and the files of this build disagree; the message says what to do
 */
export async function migrate(
  connection: MigrationConnection,
  files: readonly MigrationFile[] = readMigrationFiles(join(packageRoot(), 'migrations')),
): Promise<string[]> {
  await connection.query(`select pg_advisory_lock(${advisoryLocks.migrations})`);
  try {
    await connection.query(
      `create table if not exists schema_migration (
         name text primary key, digest text not null, applied_at timestamptz not null default now())`,
    );
    const { rows } = await connection.query('select name, digest from schema_migration order by name collate "C"');
    const pending = pendingMigrations(
      files,
      rows.map((row) => ({ name: String(row.name), digest: String(row.digest) })),
    );
    for (const file of pending) await applyMigration(connection, file);
    await connection.query('insert into server_state (id, active_method) values (1, $1) on conflict (id) do nothing', [
      firstMethod,
    ]);
    return pending.map((file) => file.name);
  } finally {
    await connection.query(`select pg_advisory_unlock(${advisoryLocks.migrations})`);
  }
}

async function applyMigration(connection: MigrationConnection, file: MigrationFile): Promise<void> {
  await connection.query('begin');
  try {
    for (const statement of file.statements) await connection.query(statement);
    await connection.query('insert into schema_migration (name, digest) values ($1, $2)', [file.name, file.digest]);
    await connection.query('commit');
  } catch (cause) {
    await connection.query('rollback');
    throw new Error(`Migration ${file.name} failed and was undone; the database is as it was before it.`, { cause });
  }
}

/** Which files are still to be applied; throws when the applied ones are not exactly the first of the files. */
function pendingMigrations(files: readonly MigrationFile[], applied: readonly AppliedMigration[]): MigrationFile[] {
  const byName = new Map(files.map((file) => [file.name, file]));
  const newestFile = files.at(-1);
  for (const { name, digest } of applied) {
    const file = byName.get(name);
    if (file === undefined) {
      if (newestFile === undefined || name > newestFile.name) {
        throw new MigrationError(
          `The database has migration ${name}, which is newer than this build` +
            `${newestFile === undefined ? '' : ` (its newest is ${newestFile.name})`}: start the newer build, or restore a backup made before it.`,
        );
      }
      throw new MigrationError(
        `Migration ${name} was applied to the database but its file is missing: put the file back from version control.`,
      );
    }
    if (file.digest !== digest) {
      throw new MigrationError(
        `Migration ${name} was edited after it had been applied: put the original back and write the change as a new migration.`,
      );
    }
  }
  const done = new Set(applied.map(({ name }) => name));
  const newestApplied = applied.at(-1)?.name;
  const pending = files.filter((file) => !done.has(file.name));
  for (const file of pending) {
    if (newestApplied !== undefined && file.name < newestApplied) {
      throw new MigrationError(
        `Migration ${file.name} is numbered before ${newestApplied}, which has been applied: renumber it to come last.`,
      );
    }
  }
  return pending;
}
