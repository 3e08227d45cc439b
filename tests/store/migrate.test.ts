import { createHash } from 'node:crypto';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeEach, describe, expect, test } from 'vitest';
import { newestMethod, publishedMethods } from '../../src/derivation/methods.ts';
import { type MigrationConnection, MigrationError, migrate } from '../../src/store/migrate.ts';
import { type MigrationFile, readMigrationFiles } from '../../src/store/migration-files.ts';
import { onEachEmptyDatabase } from '../harness/service-database.ts';

function file(name: string, ...statements: string[]): MigrationFile {
  const digest = createHash('sha256').update(statements.join(';')).digest('hex');
  return { name, number: Number(name.slice(0, 4)), digest, statements };
}

const first = file(
  '0001_initial.sql',
  'create table server_state (id smallint primary key, epoch uuid not null default gen_random_uuid(), active_method text not null)',
);
const second = file('0002_second.sql', 'create table second (id integer)', 'insert into second values (2)');
const third = file('0003_third.sql', 'create table third (id integer)');

onEachEmptyDatabase((connect, kind) => {
  let connection: MigrationConnection;

  beforeEach(async () => {
    connection ??= await connect();
    await connection.query('drop schema public cascade');
    await connection.query('create schema public');
  });

  const applied = async () => {
    const { rows } = await connection.query('select name from schema_migration order by name');
    return rows.map(({ name }) => name);
  };
  const refusal = async (files: MigrationFile[]): Promise<string> => {
    const before = await applied();
    const error = await migrate(connection, files).then(
      () => new Error('nothing was refused'),
      (thrown: unknown) => thrown as Error,
    );
    expect(error).toBeInstanceOf(MigrationError);
    expect(await applied()).toEqual(before);
    return error.message;
  };

  test('what is missing is applied in order, once, with its digest and time', async () => {
    expect(await migrate(connection, [first])).toEqual(['0001_initial.sql']);
    expect(await migrate(connection, [first, second, third])).toEqual(['0002_second.sql', '0003_third.sql']);
    expect(await migrate(connection, [first, second, third])).toEqual([]);
    const { rows } = await connection.query('select digest, applied_at from schema_migration order by name');
    expect(rows.map(({ digest }) => digest)).toEqual([first.digest, second.digest, third.digest]);
    expect(rows[0]?.applied_at).toBeInstanceOf(Date);
  });

  test('the first start gives the database an epoch and the newest published method, later ones leave both', async () => {
    const state = async () => (await connection.query('select id, epoch, active_method from server_state')).rows;
    await migrate(connection, [first]);
    const rows = await state();
    expect(rows).toEqual([
      { id: 1, epoch: expect.stringMatching(/^[0-9a-f-]{36}$/), active_method: newestMethod(publishedMethods) },
    ]);
    await migrate(connection, [first, second]);
    expect(await state()).toEqual(rows);
  });

  test('an edited migration is refused with the advice to put the original back', async () => {
    await migrate(connection, [first, second]);
    const message = await refusal([first, file(second.name, 'create table other (id integer)')]);
    expect(message).toContain('0002_second.sql was edited');
    expect(message).toContain('put the original back');
  });

  test('a missing migration is refused with the advice to put the file back', async () => {
    await migrate(connection, [first, second, third]);
    expect(await refusal([first, third])).toMatch(/0002_second\.sql .* file is missing: put the file back/);
  });

  test('a late migration is refused with the advice to renumber it', async () => {
    await migrate(connection, [first, third]);
    expect(await refusal([first, second, third])).toMatch(/0002_second\.sql is numbered before 0003.*renumber it/);
  });

  test('a database that is newer than the build is refused with the advice to start the newer build', async () => {
    await migrate(connection, [first, second, third]);
    expect(await refusal([first, second])).toMatch(/0003_third\.sql, which is newer than this build.*start the newer/);
  });

  test('a migration that fails is undone as a whole, and what came before it stays', async () => {
    const failing = file('0003_failing.sql', 'create table half (id integer)', 'select no_such_column');
    await expect(migrate(connection, [first, second, failing])).rejects.toThrow(
      '0003_failing.sql failed and was undone',
    );
    expect(await applied()).toEqual(['0001_initial.sql', '0002_second.sql']);
    const { rows } = await connection.query("select to_regclass('half')::text as half");
    expect(rows).toEqual([{ half: null }]);
    expect(await migrate(connection, [first, second, third])).toEqual(['0003_third.sql']);
  });

  // The embedded database has one connection and one owner: its data directory lock keeps the others out.
  if (kind === 'postgresql') {
    test('three servers that start at once apply each migration once', async () => {
      const slow = file('0002_slow.sql', 'select pg_sleep(0.3)', 'create table slow (id integer)');
      const connections = await Promise.all([connect(), connect(), connect()]);
      const results = await Promise.all(connections.map((one) => migrate(one, [first, slow, third])));
      expect(results.flat().sort()).toEqual(['0001_initial.sql', '0002_slow.sql', '0003_third.sql']);
      expect(results.filter((names) => names.length === 0)).toHaveLength(2);
    });
  }
});

describe('migration files', () => {
  const inDirectory = (files: Record<string, string>, work: (directory: string) => void) => {
    const directory = mkdtempSync(join(tmpdir(), 'shot-commons-migrations-'));
    try {
      for (const [name, text] of Object.entries(files)) writeFileSync(join(directory, name), text);
      work(directory);
    } finally {
      rmSync(directory, { recursive: true, force: true });
    }
  };

  test('are split at their breakpoints and digested alike with LF and CRLF', () => {
    const text = 'create table a (id integer);\n--> statement-breakpoint\nselect 1;\n';
    inDirectory({ '0001_a.sql': text, '0002_b.sql': text.replaceAll('\n', '\r\n'), 'readme.txt': '' }, (directory) => {
      const [a, b, ...rest] = readMigrationFiles(directory);
      expect(a?.statements).toEqual(['create table a (id integer);', 'select 1;']);
      expect(a?.digest).toBe(createHash('sha256').update(text).digest('hex'));
      expect(b?.digest).toBe(a?.digest);
      expect(rest).toEqual([]);
    });
  });

  test('with the same number or an odd name are refused by name', () => {
    inDirectory({ '0001_a.sql': '', '0001_b.sql': '' }, (directory) => {
      expect(() => readMigrationFiles(directory)).toThrow('0001_a.sql and 0001_b.sql have the same number');
    });
    inDirectory({ 'initial.sql': '' }, (directory) => {
      expect(() => readMigrationFiles(directory)).toThrow('initial.sql is not named NNNN_name.sql');
    });
  });
});
