/** Uploads over real connections: keys, receipts in three forms, and senders who vanish. */
import { mkdtemp, readdir, rm } from 'node:fs/promises';
import { connect, type Socket } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'csv-parse/sync';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ReceiptShot } from '../../shared/submission.ts';
import { idempotencyKey, shot, submission } from '../../src/store/schema.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

onEachDatabase((open) => {
  let service: Service;
  let address: URL;
  let spoolDirectory: string;
  const uploads = `/v1/labs/${lab}/submissions`;
  const authorization = () => `Bearer ${service.tokens.contributor}`;

  beforeAll(async () => {
    spoolDirectory = await mkdtemp(join(tmpdir(), 'shot-commons-uploads-'));
    service = await startService(open(), { spoolDirectory });
    address = new URL(await service.app.listen({ host: '127.0.0.1', port: 0 }));
  });
  afterAll(async () => {
    await service.app.close();
    await rm(spoolDirectory, { recursive: true, force: true });
  });

  const post = (body: string, type: string, more: Record<string, string> = {}, query = '') =>
    fetch(new URL(uploads + query, address), {
      method: 'POST',
      headers: { authorization: authorization(), 'content-type': type, ...more },
      body,
    });
  const multipart = (boundary: string, label: string) =>
    `--${boundary}\r\nContent-Disposition: form-data; name="shots"; filename="s.csv"\r\n\r\nlabel,rig\n${label},main\n\r\n--${boundary}--\r\n`;
  const withBoundary = (boundary: string) => `multipart/form-data; boundary=${boundary}`;
  const rowsOf = async () => ({
    shots: (await open().db.select().from(shot)).length,
    submissions: (await open().db.select().from(submission)).length,
    keys: (await open().db.select().from(idempotencyKey)).map(({ key }) => key),
  });
  const until = async (what: () => Promise<boolean>) => {
    for (let attempt = 0; attempt < 400; attempt += 1) {
      if (await what()) return;
      await new Promise((resolve) => setTimeout(resolve, 10));
    }
    throw new Error('it did not come to that');
  };

  /** Opens a request and sends the beginning of its body, in one chunk that is not the last. */
  const begin = async (type: string, beginning: string, key: string): Promise<Socket> => {
    const socket = connect(Number(address.port), address.hostname);
    socket.on('error', () => {});
    const head = [
      `POST ${uploads} HTTP/1.1`,
      `Host: ${address.host}`,
      `Authorization: ${authorization()}`,
      `Content-Type: ${type}`,
      `Idempotency-Key: ${key}`,
      'Transfer-Encoding: chunked',
    ];
    socket.write(`${head.join('\r\n')}\r\n\r\n${Buffer.byteLength(beginning).toString(16)}\r\n${beginning}\r\n`);
    await until(async () => (await rowsOf()).keys.includes(key));
    await until(async () => (await readdir(spoolDirectory)).length > 0);
    return socket;
  };

  it('that is compressed is refused, and says so', async () => {
    const answer = await post('label,rig\nz-1,main\n', 'text/csv', { 'content-encoding': 'gzip' });
    expect(answer.status).toBe(415);
    expect(((await answer.json()) as { detail: string }).detail).toContain('Content-Encoding was gzip');
  });

  describe('an Idempotency-Key', () => {
    it('answers a multipart upload once, whatever its boundary; another table under the key is refused', async () => {
      const key = { 'idempotency-key': 'form-1' };
      const first = await post(multipart('one', 'k-1'), withBoundary('one'), key);
      expect(first.status).toBe(201);
      const receipt = await first.text();
      const again = await post(multipart('another-2', 'k-1'), withBoundary('another-2'), key);
      expect([again.status, await again.text()]).toEqual([201, receipt]);
      const other = await post(multipart('one', 'k-2'), withBoundary('one'), key);
      expect(other.status).toBe(422);
      expect(await other.json()).toMatchObject({ code: 'idempotency-key-reused' });
    });
    it('of an upload in progress says when to ask again', async () => {
      const line = `${JSON.stringify(validShot('k-3'))}\n`;
      const socket = await begin('application/x-ndjson', line, 'slow-1');
      const early = await post(line, 'application/x-ndjson', { 'idempotency-key': 'slow-1' });
      expect([early.status, early.headers.get('retry-after')]).toEqual([409, '5']);
      expect(await early.json()).toMatchObject({ code: 'upload-in-progress' });
      socket.write('0\r\n\r\n');
      await new Promise((resolve) => socket.once('data', resolve));
      socket.destroy();
      const late = await post(line, 'application/x-ndjson', { 'idempotency-key': 'slow-1' });
      expect(late.status).toBe(201);
      expect(await late.json()).toMatchObject({ counts: { created: 1, unchanged: 0 } });
    });
  });

  describe('a sender who vanishes in the middle', () => {
    const shots = Array.from({ length: 40 }, (_, index) => `${JSON.stringify(validShot(`v-${index}`))}\n`).join('');
    const rows = Array.from({ length: 2000 }, (_, index) => `w-${index},main`).join('\n');
    const table = `--cut\r\nContent-Disposition: form-data; name="shots"; filename="s.csv"\r\n\r\nlabel,rig\n${rows}`;
    const connections = () =>
      new Promise<number>((resolve) => {
        service.app.server.getConnections((_, count) => resolve(count));
      });
    it.each([
      ['NDJSON', 'application/x-ndjson', `${shots}{"label":"v-`],
      ['CSV', 'text/csv', `label,rig\n${rows}`],
      ['multipart', withBoundary('cut'), table],
    ])('of %s leaves nothing: no row, no file, no key', async (form, type, beginning) => {
      const before = await rowsOf();
      const connectedBefore = await connections();
      const socket = await begin(type, beginning, `gone-${form}`);
      socket.destroy();
      await until(async () => (await readdir(spoolDirectory)).length === 0);
      await until(async () => !(await rowsOf()).keys.includes(`gone-${form}`));
      expect(await rowsOf()).toEqual(before);
      await until(async () => (await connections()) === connectedBefore);
    });
  });

  describe('a receipt', () => {
    const shotsOf = async (id: string, accept?: string) =>
      fetch(new URL(`/v1/submissions/${id}/shots`, address), {
        headers: { authorization: authorization(), ...(accept === undefined ? {} : { accept }) },
      });
    let id = '';
    beforeAll(async () => {
      const sent = [validShot('r-1'), { ...validShot('r-2'), rig: 'lost', player: 'Anna Li' }];
      const body = sent.map((each) => `${JSON.stringify(each)}\n`).join('');
      const answer = await post(body, 'application/x-ndjson', {}, '?accept=valid');
      id = ((await answer.json()) as { submission: string }).submission;
    });
    it.each([undefined, '*/*', 'application/json', 'text/csv;q=0.3, application/json', 'image/png'])(
      'is JSON for Accept: %s',
      async (accept) => {
        const answer = await shotsOf(id, accept);
        expect(answer.headers.get('content-type')).toContain('application/json');
        expect(answer.headers.get('vary')).toContain('accept');
        const { shots: told } = (await answer.json()) as { shots: ReceiptShot[] };
        expect(told.map(({ state }) => state)).toEqual(['created', 'rejected']);
      },
    );
    it.each(['text/csv', 'application/json;q=0.5, text/csv', 'TEXT/CSV; charset=utf-8', 'text/*'])(
      'is a table with one line per problem for Accept: %s',
      async (accept) => {
        const answer = await shotsOf(id, accept);
        expect(answer.headers.get('content-type')).toContain('text/csv');
        const lines = parse(await answer.text(), { columns: true }) as Record<string, string>[];
        expect(lines.map(({ label, state, problem }) => [label, state, problem])).toEqual([
          ['r-1', 'created', ''],
          ['r-2', 'rejected', 'structure-invalid'],
          ['r-2', 'rejected', 'gear-unknown'],
        ]);
      },
    );
    it.each(['application/x-ndjson', 'application/x-ndjson, application/json;q=0.9'])(
      'is one line per shot for Accept: %s',
      async (accept) => {
        const answer = await shotsOf(id, accept);
        expect(answer.headers.get('content-type')).toContain('application/x-ndjson');
        const lines = (await answer.text()).trimEnd().split('\n');
        expect(lines.map((line) => (JSON.parse(line) as ReceiptShot).label)).toEqual(['r-1', 'r-2']);
      },
    );
  });
});
