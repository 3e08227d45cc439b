/**
 * Uploads while the server is killed, in a process of its own as production runs it. The full run is
 * tests/studies/kill-during-upload.ts.
 */
import { randomBytes } from 'node:crypto';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import pg from 'pg';
import { afterAll, beforeAll, describe, expect, inject, it } from 'vitest';
import { withDatabase } from '../harness/test-databases.ts';
import { killRounds } from '../studies/intake/kill-rounds.ts';
import { buildServer, type Place } from '../studies/intake/server-process.ts';

const { embeddedImage, postgresql } = inject('testDatabases');
const directory = mkdtempSync(join(tmpdir(), 'shot-commons-hard-'));
const made: string[] = [];

async function ask(url: string, statement: string): Promise<void> {
  const client = new pg.Client({ connectionString: url });
  await client.connect();
  await client.query(statement);
  await client.end();
}

/** An empty database of its own for each use. */
async function place(kind: string): Promise<Place> {
  const own = join(directory, randomBytes(6).toString('hex'));
  if (kind === 'embedded' || postgresql === null) return { databaseUrl: null, directory: own };
  const name = `shot_commons_hard_${randomBytes(6).toString('hex')}`;
  await ask(postgresql.url, `create database ${name}`);
  made.push(name);
  return { databaseUrl: withDatabase(postgresql.url, name), directory: own };
}

const kinds = [...(embeddedImage === null ? [] : ['embedded']), ...(postgresql === null ? [] : ['postgresql'])];

beforeAll(() => buildServer());
afterAll(async () => {
  if (postgresql !== null) {
    for (const name of made) await ask(postgresql.url, `drop database if exists ${name} with (force)`);
  }
  rmSync(directory, { recursive: true, force: true });
});

describe.each(kinds)('on the %s database', (kind) => {
  it('kill -9 during uploads: what was acknowledged is whole, everything else is absent or whole', {
    timeout: 300_000,
  }, async () => {
    const { rounds, acknowledged, absent, wholeUnanswered, wrong } = await killRounds(await place(kind), 10, 20_261);
    expect(wrong).toEqual([]);
    expect(acknowledged + absent + wholeUnanswered).toBe(rounds);
    // Otherwise no kill fell into an upload and the rounds show nothing.
    expect(absent).toBeGreaterThan(0);
  });
});
