import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterEach, expect, test } from 'vitest';
import { DataDirectoryInUse, lockDataDirectory } from '../../src/store/data-directory-lock.ts';
import { openDatabase } from '../../src/store/open-database.ts';
import { judgeProcess, ownIdentity } from '../../src/store/process-identity.ts';
import { lab, serverState } from '../../src/store/schema.ts';

const directories: string[] = [];
const children: ChildProcess[] = [];

function freshDirectory(): string {
  const directory = mkdtempSync(join(tmpdir(), 'shot-commons-data-'));
  directories.push(directory);
  return directory;
}

afterEach(() => {
  for (const child of children.splice(0)) child.kill('SIGKILL');
  for (const directory of directories.splice(0)) rmSync(directory, { recursive: true, force: true });
});

/** Starts the writer and waits until it has acknowledged a number of writes. */
async function writeInChild(
  directory: string,
  writes: number,
): Promise<{ child: ChildProcess; written: () => number }> {
  const script = fileURLToPath(new URL('embedded-writer.ts', import.meta.url));
  const child = spawn(process.execPath, ['--import', 'tsx', script, directory], { stdio: ['ignore', 'pipe', 'pipe'] });
  children.push(child);
  let written = 0;
  let errors = '';
  child.stderr.on('data', (chunk: Buffer) => {
    errors += chunk.toString();
  });
  await new Promise<void>((resolve, reject) => {
    child.stdout.on('data', (chunk: Buffer) => {
      written = Number(chunk.toString().trim().split('\n').at(-1));
      if (written >= writes) resolve();
    });
    child.once('exit', () => reject(new Error(`the writer ended early: ${errors}`)));
  });
  return { child, written: () => written };
}

test('every acknowledged write survives the killing of the process, and the next start needs no help', async () => {
  const dataDirectory = freshDirectory();
  const { child, written } = await writeInChild(dataDirectory, 20);
  await expect(openDatabase({ dataDirectory })).rejects.toThrow(
    new RegExp(`in use by process ${child.pid}: stop that server first.*DATABASE_URL`),
  );
  child.kill('SIGKILL');
  await once(child, 'exit');
  expect(existsSync(join(dataDirectory, 'server.lock'))).toBe(true);
  const database = await openDatabase({ dataDirectory });
  const slugs = (await database.db.select({ slug: lab.slug }).from(lab)).map(({ slug }) => slug);
  await database.close();
  for (let number = 1; number <= written(); number++) expect(slugs).toContain(`lab-${number}`);
  expect(written()).toBeGreaterThanOrEqual(20);
});

test('a data directory keeps its data and epoch over a restart, and is free again once closed', async () => {
  const dataDirectory = join(freshDirectory(), 'new', 'data');
  const first = await openDatabase({ dataDirectory });
  expect(first.kind).toBe('embedded');
  expect(first.description).toContain(dataDirectory);
  expect(statSync(dataDirectory).mode & 0o077).toBe(0);
  await expect(openDatabase({ dataDirectory })).rejects.toBeInstanceOf(DataDirectoryInUse);
  const before = await first.db.select().from(serverState);
  await first.close();
  await first.close();
  expect(readdirSync(dataDirectory)).toEqual(['database']);
  const second = await openDatabase({ dataDirectory });
  expect(await second.db.select().from(serverState)).toEqual(before);
  await second.close();
});

test('a database whose making was interrupted is made anew', async () => {
  const dataDirectory = freshDirectory();
  writeFileSync(join(dataDirectory, 'database.new'), 'half of something');
  const database = await openDatabase({ dataDirectory });
  expect(await database.db.select().from(serverState)).toHaveLength(1);
  await database.close();
  expect(readdirSync(dataDirectory)).toEqual(['database']);
});

test('an open that fails gives the directory free', async () => {
  const dataDirectory = freshDirectory();
  writeFileSync(join(dataDirectory, 'database'), 'not a database');
  await expect(openDatabase({ dataDirectory })).rejects.toThrow();
  lockDataDirectory(dataDirectory).release();
});

test('a stale lock is replaced, also when its process number is in use again, and so is a takeover cut short', () => {
  const directory = freshDirectory();
  const path = join(directory, 'server.lock');
  // Process numbers are reused: the same number with another start is another process.
  writeFileSync(path, JSON.stringify({ ...ownIdentity(), started: 'long ago' }));
  writeFileSync(`${path}.takeover`, JSON.stringify({ ...ownIdentity(), started: 'long ago' }));
  const lock = lockDataDirectory(directory);
  expect(() => lockDataDirectory(directory)).toThrow(DataDirectoryInUse);
  expect(JSON.parse(readFileSync(path, 'utf8'))).toMatchObject({ pid: process.pid });
  expect(readdirSync(directory)).toEqual(['server.lock']);
  lock.release();
  expect(readdirSync(directory)).toEqual([]);
});

test('a lock of another host, and one that cannot be read, is left alone with advice to delete it when sure', () => {
  const directory = freshDirectory();
  const path = join(directory, 'server.lock');
  for (const text of [JSON.stringify({ ...ownIdentity(), host: 'elsewhere' }), 'scribble']) {
    writeFileSync(path, text);
    expect(() => lockDataDirectory(directory)).toThrow(
      /make sure that no server uses the directory, then delete .*server\.lock/,
    );
    expect(readFileSync(path, 'utf8')).toBe(text);
  }
});

test('releasing twice does not take the lock of the next holder', () => {
  const directory = freshDirectory();
  const first = lockDataDirectory(directory);
  first.release();
  const second = lockDataDirectory(directory);
  first.release();
  expect(() => lockDataDirectory(directory)).toThrow(DataDirectoryInUse);
  second.release();
});

test('a process is judged gone by its number, its start or a reboot, and unknown beyond what can be seen', () => {
  const own = ownIdentity();
  expect(judgeProcess(own, own)).toBe('alive');
  expect(judgeProcess({ ...own, pid: 2 ** 22 + 1 }, own)).toBe('gone');
  expect(judgeProcess({ ...own, started: 'earlier' }, own)).toBe('gone');
  expect(judgeProcess({ ...own, boot: 'the boot before' }, own)).toBe('gone');
  expect(judgeProcess({ ...own, host: 'elsewhere' }, own)).toBe('unknown');
  expect(judgeProcess({ ...own, namespace: 'another container' }, own)).toBe('unknown');
});
