/** Storing a long upload may take minutes in which nothing moves on the connection. */
import type { Socket } from 'node:net';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { OpenDatabase } from '../../src/store/database.ts';
import { openDatabase } from '../../src/store/open-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

describe('the connection of an upload', () => {
  let database: OpenDatabase;
  let service: Service;
  let address = '';
  const timeouts: number[] = [];

  beforeAll(async () => {
    database = await openDatabase({ dataDirectory: null });
    service = await startService(database);
    service.app.server.on('connection', (socket: Socket) => {
      const set = socket.setTimeout.bind(socket);
      socket.setTimeout = (milliseconds, listener) => {
        timeouts.push(milliseconds);
        return set(milliseconds, listener);
      };
    });
    address = await service.app.listen({ host: '127.0.0.1', port: 0 });
  });
  afterAll(async () => {
    await service.app.close();
    await database.close();
  });

  it('is cut when a sender stalls, but not while a sender who has sent everything waits for the receipt', async () => {
    expect(service.app.server.timeout).toBeGreaterThan(0);
    const answer = await fetch(`${address}/v1/labs/${lab}/submissions`, {
      method: 'POST',
      headers: { authorization: `Bearer ${service.tokens.contributor}`, 'content-type': 'application/json' },
      body: JSON.stringify(validShot('waits')),
    });
    expect(answer.status).toBe(201);
    expect(timeouts).toContain(0);
  });

  it('is watched again at the next request', async () => {
    await fetch(`${address}/livez`);
    expect(timeouts.lastIndexOf(0)).toBeLessThan(timeouts.length - 1);
  });
});
