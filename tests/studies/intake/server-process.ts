/** The built server in a process of its own, to be killed or watched while uploads arrive. */
import { type ChildProcess, execFileSync, spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { request } from 'node:http';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { Readable } from 'node:stream';
import { pipeline } from 'node:stream/promises';
import { packageRoot } from '../../../src/store/package-root.ts';
import { captureRate } from '../../intake/invented.ts';

const curatorToken = 'study-curator-token-0123456789-0123456789';

export interface Place {
  readonly databaseUrl: string | null;
  /** Embedded database and spool. */
  readonly directory: string;
}

/** Compiles the server as `npm start` does. */
export function buildServer(): void {
  execFileSync('npm', ['run', '--silent', 'build'], { cwd: packageRoot(), shell: process.platform === 'win32' });
}

export interface Answer {
  readonly status: number;
  readonly text: string;
}

export class ServerProcess {
  readonly #child: ChildProcess;
  readonly #address: string;
  readonly #ended: Promise<void>;

  private constructor(child: ChildProcess, address: string, ended: Promise<void>) {
    this.#child = child;
    this.#address = address;
    this.#ended = ended;
  }

  /** Starts the server that `buildServer` made and waits until it listens. */
  static async start({ databaseUrl, directory }: Place): Promise<ServerProcess> {
    const { PATH, HOME, TMPDIR } = process.env;
    const child = spawn(process.execPath, [join(packageRoot(), 'dist', 'src', 'main.js')], {
      cwd: packageRoot(),
      env: {
        ...(PATH === undefined ? {} : { PATH }),
        ...(HOME === undefined ? {} : { HOME }),
        ...(TMPDIR === undefined ? {} : { TMPDIR }),
        ...(databaseUrl === null ? {} : { DATABASE_URL: databaseUrl }),
        DATA_DIRECTORY: directory,
        PORT: '0',
        CURATOR_TOKEN: curatorToken,
      },
      stdio: ['ignore', 'pipe', 'inherit'],
    });
    const ended = new Promise<void>((resolve) => child.once('exit', () => resolve()));
    const address = await new Promise<string>((resolve, reject) => {
      if (child.stdout === null) throw new Error('The server has no output.');
      createInterface(child.stdout).on('line', (line) => {
        const found = /Server listening at (http:\/\/127\.0\.0\.1:\d+)/.exec(line)?.[1];
        if (found !== undefined) resolve(found);
      });
      child.once('exit', () => reject(new Error('The server ended before it listened.')));
    });
    return new ServerProcess(child, address, ended);
  }

  /** Memory of the process that is in RAM, bytes (Linux only). */
  residentBytes(): number {
    const status = readFileSync(`/proc/${this.#child.pid}/status`, 'utf8');
    return 1024 * Number(/^VmRSS:\s+(\d+) kB$/m.exec(status)?.[1]);
  }

  /** kill -9: no handler runs. */
  async kill(): Promise<void> {
    this.#child.kill('SIGKILL');
    await this.#ended;
  }

  async stop(): Promise<void> {
    this.#child.kill('SIGTERM');
    await this.#ended;
  }

  async ask(method: string, path: string, body?: unknown, token = curatorToken): Promise<unknown> {
    const type = body === undefined ? {} : { 'content-type': 'application/json' };
    const answer = await fetch(`${this.#address}${path}`, {
      method,
      headers: { authorization: `Bearer ${token}`, ...type },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    const text = await answer.text();
    if (!answer.ok) throw new Error(`${method} ${path} answered ${answer.status}: ${text.slice(0, 300)}`);
    return JSON.parse(text) as unknown;
  }

  /** A lab with a rig of 2000 frames/s. @returns the token of its lead */
  async makeLab(slug: string): Promise<string> {
    await this.ask('POST', '/v1/labs', { slug, title: slug, dataLicence: 'CC0-1.0', consentReference: 'invented' });
    const made = await this.ask('POST', `/v1/labs/${slug}/tokens`, { role: 'lead', note: 'study' });
    const { token } = made as { token: string };
    const content = { captureRate: { value: captureRate, unit: 'frames/s' }, trimMeaning: 'correction' };
    await this.ask('POST', `/v1/labs/${slug}/rigs`, { name: 'main', content }, token);
    return token;
  }

  /** Sends NDJSON; rejects when the connection breaks before the answer. */
  async upload(
    slug: string,
    token: string,
    body: Iterable<string> | AsyncIterable<string>,
    key?: string,
  ): Promise<Answer> {
    const sent = request(`${this.#address}/v1/labs/${slug}/submissions`, {
      method: 'POST',
      headers: {
        authorization: `Bearer ${token}`,
        'content-type': 'application/x-ndjson',
        ...(key === undefined ? {} : { 'idempotency-key': key }),
      },
    });
    const answer = new Promise<Answer>((resolve, reject) => {
      sent.once('error', reject);
      sent.once('response', (response) => {
        response
          .toArray()
          .then(
            (parts) => resolve({ status: response.statusCode ?? 0, text: Buffer.concat(parts as Buffer[]).toString() }),
            reject,
          );
      });
    });
    // Whichever breaks first is told; the other must not go unheard.
    answer.catch(() => {});
    await pipeline(Readable.from(body), sent);
    return answer;
  }
}
