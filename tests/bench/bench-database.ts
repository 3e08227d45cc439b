/** The databases of the run: fresh ones on the server that was found, or embedded ones in a temporary directory. */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';
import type { OpenDatabase } from '../../src/store/database.ts';
import { openDatabase } from '../../src/store/open-database.ts';
import { startLocalPostgresql } from '../harness/local-postgresql.ts';
import { withDatabase } from '../harness/test-databases.ts';

export interface BenchDatabase {
  /** Null when it is embedded. */
  readonly url: string | null;
  /** Of the embedded database; beside PostgreSQL the server keeps its spool there. */
  readonly directory: string;
  open(): Promise<OpenDatabase>;
}

export interface BenchServer {
  readonly kind: OpenDatabase['kind'];
  readonly description: string;
  createDatabase(): Promise<BenchDatabase>;
  /** Removes everything that was made. */
  stop(): Promise<void>;
}

/** What a server that must not lose anything runs with; the harness of the tests is less careful. */
const durableSettings = { fsync: 'on', synchronous_commit: 'on', full_page_writes: 'on', shared_buffers: '128MB' };

/** @param wantsEmbedded leave out what else there is */
export async function findBenchServer(wantsEmbedded = false): Promise<BenchServer> {
  const directory = mkdtempSync(join(tmpdir(), 'shot-commons-bench-'));
  const removeDirectory = () => rmSync(directory, { recursive: true, force: true });
  if (wantsEmbedded) return embedded('as asked', directory, removeDirectory);
  const given = process.env.DATABASE_URL || process.env.TEST_DATABASE_URL;
  if (given) {
    const version = (await ask(given, "select current_setting('server_version') as value"))[0]?.value;
    return onServer(given, `PostgreSQL ${version} at the given address`, directory, async () => removeDirectory());
  }
  const local = await startLocalPostgresql(durableSettings);
  if (local !== null) {
    return onServer(local.url, local.description, directory, async () => {
      await local.stop();
      removeDirectory();
    });
  }
  return embedded('because no PostgreSQL was given or found', directory, removeDirectory);
}

async function onServer(
  url: string,
  description: string,
  directory: string,
  end: () => Promise<void>,
): Promise<BenchServer> {
  const made: string[] = [];
  const setting = async (name: string) => (await ask(url, `select current_setting('${name}') as value`))[0]?.value;
  const durability = `fsync ${await setting('fsync')}, synchronous_commit ${await setting('synchronous_commit')}`;
  return {
    kind: 'postgresql',
    description: `${description}; ${durability}`,
    async createDatabase() {
      const name = `shot_commons_bench_${randomBytes(6).toString('hex')}`;
      await ask(url, `create database ${name}`);
      made.push(name);
      const own = withDatabase(url, name);
      return { url: own, directory: join(directory, name), open: () => openDatabase({ databaseUrl: own }) };
    },
    async stop() {
      for (const name of made) await ask(url, `drop database if exists ${name} with (force)`);
      await end();
    },
  };
}

function embedded(reason: string, directory: string, end: () => void): BenchServer {
  return {
    kind: 'embedded',
    description: `the embedded database, ${reason}`,
    createDatabase: async () => embeddedDatabase(directory),
    stop: async () => end(),
  };
}

/** An embedded database of its own below a directory. */
export function embeddedDatabase(parent: string): BenchDatabase {
  const directory = mkdtempSync(join(parent, 'data-'));
  return { url: null, directory, open: () => openDatabase({ dataDirectory: directory }) };
}

async function ask(url: string, statement: string): Promise<Record<string, string>[]> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return (await client.query<Record<string, string>>(statement)).rows;
  } finally {
    await client.end();
  }
}
