/** A PostgreSQL found on the machine, started in a temporary directory that nobody else uses, and removed afterwards. */
import { execFile, execFileSync, spawn } from 'node:child_process';
import { chownSync, existsSync, mkdtempSync, readdirSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { promisify } from 'node:util';
import pg from 'pg';

export interface RunningServer {
  readonly url: string;
  readonly description: string;
  stop(): Promise<void>;
}

interface Account {
  readonly uid: number;
  readonly gid: number;
}

/** Folder that holds initdb and postgres: of pg_config, of a Debian-style installation (newest first), or of PATH. */
function findServerPrograms(): string | null {
  const candidates: string[] = [];
  try {
    candidates.push(execFileSync('pg_config', ['--bindir'], { encoding: 'utf8', stdio: 'pipe' }).trim());
  } catch {
    // Without pg_config the other places are looked at.
  }
  const versions = '/usr/lib/postgresql';
  if (existsSync(versions)) {
    const numbered = readdirSync(versions).filter((name) => /^\d+$/.test(name));
    numbered.sort((a, b) => Number(b) - Number(a));
    candidates.push(...numbered.map((version) => join(versions, version, 'bin')));
  }
  candidates.push(...(process.env.PATH ?? '').split(delimiter));
  return (
    candidates.find((folder) => existsSync(join(folder, 'initdb')) && existsSync(join(folder, 'postgres'))) ?? null
  );
}

/** PostgreSQL refuses to run as root, so root hands over to an account without rights. */
function accountForServer(): Account | null {
  if (process.getuid?.() !== 0) return null;
  const accounts = readFileSync('/etc/passwd', 'utf8')
    .split('\n')
    .map((line) => line.split(':'));
  const found = accounts.find(([name]) => name === 'postgres') ?? accounts.find(([name]) => name === 'nobody');
  if (found === undefined) throw new Error('PostgreSQL cannot run as root, and there is no account to run it as.');
  return { uid: Number(found[2]), gid: Number(found[3]) };
}

/**
 * Starts a server that listens on a socket in its own directory only.
 * @param changedSettings settings in place of those of the tests, which trade safety for speed
 * @returns null when no PostgreSQL is installed
 * @throws Error with the server's log when one is installed and does not start
 */
export async function startLocalPostgresql(
  changedSettings: Readonly<Record<string, string>> = {},
): Promise<RunningServer | null> {
  const programs = findServerPrograms();
  if (programs === null) return null;
  const account = accountForServer();
  const directory = mkdtempSync(join(account === null ? tmpdir() : '/tmp', 'shot-commons-test-'));
  if (account !== null) chownSync(directory, account.uid, account.gid);
  const options = { cwd: directory, ...account };
  const data = join(directory, 'data');
  const log = join(directory, 'log');
  await makeCluster(join(programs, 'initdb'), data, options);
  const settings = {
    listen_addresses: '',
    unix_socket_directories: directory,
    fsync: 'off',
    synchronous_commit: 'off',
    full_page_writes: 'off',
    shared_buffers: '64MB',
    max_connections: '60',
    ...changedSettings,
  };
  const flags = Object.entries(settings).flatMap(([name, value]) => ['-c', `${name}=${value}`]);
  // The shell ends the server when its input closes, which also happens when the test run is killed.
  const script =
    '"$@" >"$LOG" 2>&1 </dev/null & server=$!; read -r end; kill -INT $server; wait $server; cd /; rm -rf "$DIRECTORY"';
  const guard = spawn('/bin/sh', ['-c', script, 'sh', join(programs, 'postgres'), '-D', data, ...flags], {
    ...options,
    stdio: ['pipe', 'ignore', 'ignore'],
    env: { ...process.env, LOG: log, DIRECTORY: directory },
    // A terminal's interrupt must reach the server through us, after the connections are closed.
    detached: true,
  });
  const ended = new Promise<void>((resolve) => guard.once('exit', () => resolve()));
  const stop = async () => {
    guard.stdin.end();
    await ended;
    rmSync(directory, { recursive: true, force: true });
  };
  const url = `postgresql://postgres@localhost/postgres?host=${encodeURIComponent(directory)}`;
  const version = await waitUntilReady(url, log, stop);
  return { url, description: `PostgreSQL ${version} of this machine, started for this run`, stop };
}

/** Sorts text by language rules where the server can, so that an order that must be by code points shows itself. */
async function makeCluster(initdb: string, data: string, options: { cwd: string }): Promise<void> {
  const run = promisify(execFile);
  const common = ['-D', data, '-U', 'postgres', '--auth=trust', '--encoding=UTF8', '--no-sync'];
  try {
    await run(initdb, [...common, '--locale=C', '--locale-provider=icu', '--icu-locale=en'], options);
  } catch {
    rmSync(data, { recursive: true, force: true });
    await run(initdb, [...common, '--locale=C'], options);
  }
}

async function waitUntilReady(url: string, log: string, stop: () => Promise<void>): Promise<string> {
  for (let attempt = 0; attempt < 150; attempt++) {
    const client = new pg.Client({ connectionString: url });
    client.on('error', () => {});
    try {
      await client.connect();
      const { rows } = await client.query<{ version: string }>("select current_setting('server_version') as version");
      return rows[0]?.version ?? 'of unknown version';
    } catch {
      await sleep(200);
    } finally {
      await client.end().catch(() => {});
    }
  }
  const text = existsSync(log) ? readFileSync(log, 'utf8') : 'no log was written';
  await stop();
  throw new Error(`PostgreSQL did not start within 30 s:\n${text}`);
}
