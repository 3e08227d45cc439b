/** Runs a suite of service tests on every database of this run, each time on a fresh migrated one. */
import { randomBytes } from 'node:crypto';
import { readFileSync } from 'node:fs';
import { PGlite } from '@electric-sql/pglite';
import pg from 'pg';
import { afterAll, beforeAll, describe, inject } from 'vitest';
import type { OpenDatabase } from '../../src/store/database.ts';
import type { MigrationConnection } from '../../src/store/migrate.ts';
import { openDatabase } from '../../src/store/open-database.ts';
import { openEmbedded } from '../../src/store/open-embedded.ts';
import { withDatabase } from './test-databases.ts';

interface FreshDatabase extends OpenDatabase {
  /** Closes and removes it. */
  remove(): Promise<void>;
}

/**
 * Declares the suite once per database. One database serves the whole suite; tests in it share the data.
 * @param suite gets `open`, which returns the suite's database; call it inside tests and hooks. `open().kind` tells
 *   which database it is
 */
export function onEachDatabase(suite: (open: () => OpenDatabase) => void): void {
  const { embeddedImage, postgresql } = inject('testDatabases');
  const drivers: [string, () => Promise<FreshDatabase>][] = [];
  if (embeddedImage !== null) drivers.push(['embedded', () => freshEmbedded(embeddedImage)]);
  if (postgresql !== null) drivers.push(['postgresql', () => freshPostgresql(postgresql)]);
  describe.each(drivers)('on the %s database', (_name, create) => {
    let current: FreshDatabase | undefined;
    beforeAll(async () => {
      current = await create();
    });
    afterAll(async () => {
      await current?.remove();
    });
    suite(() => {
      if (current === undefined) throw new Error('open() is for tests and hooks, not for the body of the suite.');
      return current;
    });
  });
}

async function freshEmbedded(image: string): Promise<FreshDatabase> {
  const database = await openEmbedded(null, new Blob([readFileSync(image)]));
  return { ...database, remove: () => database.close() };
}

async function freshPostgresql({ url, template }: { url: string; template: string }): Promise<FreshDatabase> {
  const name = `shot_commons_test_${randomBytes(6).toString('hex')}`;
  await administer(url, `create database ${name} template ${template}`);
  const database = await openDatabase({ databaseUrl: withDatabase(url, name) });
  return {
    ...database,
    async remove() {
      await database.close();
      await administer(url, `drop database ${name} with (force)`);
    },
  };
}

/**
 * Declares the suite once per database, on an empty one that the suite migrates itself.
 * @param suite gets `connect`, which opens one more connection to the suite's database; on the embedded one there is
 *   only one connection, and it is returned each time
 */
export function onEachEmptyDatabase(
  suite: (connect: () => Promise<MigrationConnection>, kind: OpenDatabase['kind']) => void,
): void {
  const { embeddedImage, postgresql } = inject('testDatabases');
  if (embeddedImage !== null) {
    describe('on the embedded database', () => {
      let client: PGlite | undefined;
      afterAll(async () => {
        await client?.close();
      });
      suite(async () => {
        client ??= await PGlite.create();
        const only = client;
        return { query: (text, parameters) => only.query<Record<string, unknown>>(text, parameters) };
      }, 'embedded');
    });
  }
  if (postgresql !== null) {
    describe('on the postgresql database', () => {
      const { url } = postgresql;
      const name = `shot_commons_test_${randomBytes(6).toString('hex')}`;
      const clients: pg.Client[] = [];
      beforeAll(() => administer(url, `create database ${name}`));
      afterAll(async () => {
        for (const client of clients) await client.end();
        await administer(url, `drop database ${name} with (force)`);
      });
      suite(async () => {
        const client = new pg.Client({ connectionString: withDatabase(url, name) });
        clients.push(client);
        await client.connect();
        return client;
      }, 'postgresql');
    });
  }
}

async function administer(url: string, statement: string): Promise<void> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    await client.query(statement);
  } finally {
    await client.end();
  }
}
