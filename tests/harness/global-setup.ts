/** Once per run: finds a real PostgreSQL, migrates a template database there and an image of an embedded one. */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PGlite } from '@electric-sql/pglite';
import pg from 'pg';
import type { TestProject } from 'vitest/node';
import { migrate } from '../../src/store/migrate.ts';
import { containerRuntimeAnswers } from './container-runtime.ts';
import { type RunningServer, startLocalPostgresql } from './local-postgresql.ts';
import { withDatabase } from './test-databases.ts';

/** TEST_DATABASES=embedded or postgresql runs that half only; the default is both where there are both. */
function chosenDatabases(): { embedded: boolean; postgresql: boolean } {
  const choice = process.env.TEST_DATABASES ?? 'both';
  if (!['embedded', 'postgresql', 'both'].includes(choice)) {
    throw new Error(`TEST_DATABASES=${choice} is not known: use embedded, postgresql or both.`);
  }
  return { embedded: choice !== 'postgresql', postgresql: choice !== 'embedded' };
}

async function startContainer(): Promise<RunningServer> {
  const { PostgreSqlContainer } = await import('@testcontainers/postgresql');
  const container = await new PostgreSqlContainer('postgres:15-alpine').start();
  return {
    url: container.getConnectionUri(),
    description: 'PostgreSQL 15 in a container',
    stop: async () => {
      await container.stop();
    },
  };
}

async function findServer(): Promise<RunningServer | null> {
  const given = process.env.TEST_DATABASE_URL;
  if (given !== undefined && given !== '') {
    return { url: given, description: 'the PostgreSQL of TEST_DATABASE_URL', stop: async () => {} };
  }
  if (await containerRuntimeAnswers()) {
    try {
      return await startContainer();
    } catch (error) {
      // A runtime without the image and without a way to fetch it is no reason to test less.
      console.warn(`A container runtime answers, but PostgreSQL did not start in it: ${String(error)}`);
    }
  }
  return startLocalPostgresql();
}

async function withClient<T>(url: string, work: (client: pg.Client) => Promise<T>): Promise<T> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  try {
    return await work(client);
  } finally {
    await client.end();
  }
}

async function makeEmbeddedImage(directory: string): Promise<string> {
  const client = await PGlite.create();
  await migrate({ query: (text, parameters) => client.query<Record<string, unknown>>(text, parameters) });
  const image = await client.dumpDataDir('none');
  await client.close();
  const path = join(directory, 'embedded.tar');
  writeFileSync(path, Buffer.from(await image.arrayBuffer()));
  return path;
}

export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const chosen = chosenDatabases();
  const directory = mkdtempSync(join(tmpdir(), 'shot-commons-image-'));
  const embeddedImage = chosen.embedded ? await makeEmbeddedImage(directory) : null;
  const server = chosen.postgresql ? await findServer() : null;
  if (server === null && chosen.postgresql) {
    const lack =
      'no PostgreSQL for the tests: set TEST_DATABASE_URL, start a container runtime, or install PostgreSQL 15 or later';
    const needed = process.env.TEST_DATABASES === 'postgresql' || process.env.TEST_DATABASES === 'both';
    if (needed || (process.env.CI ?? '') !== '') throw new Error(`There is ${lack}.`);
    console.warn(`Service tests: embedded database ONLY; there is ${lack}.`);
  } else {
    const names = [
      ...(chosen.embedded ? ['the embedded database'] : []),
      ...(server === null ? [] : [server.description]),
    ];
    console.log(`Service tests: ${names.join(' and ')}.`);
  }
  const template = `shot_commons_template_${randomBytes(6).toString('hex')}`;
  if (server !== null) {
    await withClient(server.url, (client) => client.query(`create database ${template}`));
    await withClient(withDatabase(server.url, template), (client) => migrate(client));
  }
  project.provide('testDatabases', {
    embeddedImage,
    postgresql: server === null ? null : { url: server.url, template },
  });
  return async () => {
    rmSync(directory, { recursive: true, force: true });
    if (server === null) return;
    await withClient(server.url, (client) => client.query(`drop database if exists ${template} with (force)`));
    await server.stop();
  };
}
