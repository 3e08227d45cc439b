/** The server in a process of its own, as production runs it, with a curator token we know. */
import type { BenchDatabase } from '../bench-database.ts';
import { type ChildProgram, startChild } from './child-program.ts';
import type { ServiceProgram } from './service-program.ts';

export interface RunningService extends ChildProgram {
  /** Asks with the curator token unless another is given. @throws Error when the answer is not 2xx */
  ask(method: string, path: string, body?: unknown, token?: string): Promise<unknown>;
}

export const curatorToken = 'bench-curator-token-0123456789-0123456789';

/** @param settings environment besides what the database and the address need */
export async function startService(
  program: ServiceProgram,
  database: BenchDatabase,
  settings: Readonly<Record<string, string>> = {},
): Promise<RunningService> {
  const child = await startChild(program.commandLine, {
    ...(database.url === null ? {} : { DATABASE_URL: database.url }),
    DATA_DIRECTORY: database.directory,
    HOST: '127.0.0.1',
    PORT: '0',
    CURATOR_TOKEN: curatorToken,
    ...settings,
  });
  const ask: RunningService['ask'] = async (method, path, body, token = curatorToken) => {
    const answer = await fetch(`${child.address}${path}`, {
      method,
      headers: {
        authorization: `Bearer ${token}`,
        ...(body === undefined ? {} : { 'content-type': 'application/json' }),
      },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    });
    const text = await answer.text();
    if (!answer.ok) throw new Error(`${method} ${path} answered ${answer.status}: ${text.slice(0, 500)}`);
    return JSON.parse(text) as unknown;
  };
  return { ...child, ask };
}
