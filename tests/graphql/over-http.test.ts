/** GraphQL over HTTP as its open specification asks: the audit suite of the package graphql-http, and what it leaves open. */
import { createHash } from 'node:crypto';
import { serverAudits } from 'graphql-http';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { type Service, startService } from '../rest/service.ts';

onEachDatabase((open) => {
  let service: Service;
  let address = '';

  beforeAll(async () => {
    service = await startService(open());
    address = `${await service.app.listen({ host: '127.0.0.1', port: 0 })}/graphql`;
  });
  afterAll(async () => {
    await service.app.close();
  });
  const headers = () => ({ authorization: `Bearer ${service.tokens.reader}` });

  it('passes every audit: what a server must do, should do and may do', async () => {
    const fetchFn = (url: string, init?: RequestInit) =>
      fetch(url, { ...init, headers: { ...(init?.headers as Record<string, string>), ...headers() } });
    const outcomes = [];
    for (const audit of serverAudits({ url: address, fetchFn })) {
      const result = await audit.fn();
      outcomes.push({ name: audit.name, status: result.status });
    }
    expect(outcomes.length).toBeGreaterThan(50);
    expect(outcomes.filter(({ status }) => status !== 'ok')).toEqual([]);
  });

  it('takes a query by its SHA-256 once it was sent with it, and says so before', async () => {
    const query = '{ labs { slug } }';
    const sha256Hash = createHash('sha256').update(query).digest('hex');
    const extensions = { persistedQuery: { version: 1, sha256Hash } };
    const link = `/graphql?extensions=${encodeURIComponent(JSON.stringify(extensions))}`;
    const before = await service.ask('reader', 'GET', link);
    expect(before.status).toBe(400);
    expect(before.json.errors[0].extensions.code).toBe('persisted-query-unknown');
    const wrong = await service.ask('reader', 'POST', '/graphql', { query: '{ datasets { slug } }', extensions });
    expect(wrong.json.errors[0].extensions.code).toBe('request-invalid');
    const kept = await service.ask('reader', 'POST', '/graphql', { query, extensions });
    expect(kept.json.data.labs).toHaveLength(1);
    const after = await service.ask('reader', 'GET', link);
    expect(after.json).toEqual(kept.json);
  });

  it('answers 304 to a GET whose answer the caller has', async () => {
    const link = `${address}?query=${encodeURIComponent('{ labs { slug } }')}`;
    const first = await fetch(link, { headers: headers() });
    const etag = first.headers.get('etag') ?? '';
    await first.text();
    const again = await fetch(link, { headers: { ...headers(), 'if-none-match': etag } });
    expect([first.status, again.status]).toEqual([200, 304]);
  });

  it('refuses a batch, and a caller without a token, in the form of an answer', async () => {
    const batch = await service.ask('reader', 'POST', '/graphql', [{ query: '{ labs { slug } }' }]);
    expect(batch.status).toBe(400);
    expect(batch.json.errors[0].extensions.code).toBe('request-invalid');
    const nobody = await service.ask('none', 'POST', '/graphql', { query: '{ labs { slug } }' });
    expect(nobody.status).toBe(401);
    expect(nobody.json.errors[0].extensions.code).toBe('unauthenticated');
  });
});
