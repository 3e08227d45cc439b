import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

const link = '/v1/regression?response=contactTime&terms=cueSpeed&labs=ignored';
const lists = ['/v1/shots', `/v1/labs/${lab}`, '/v1/datasets', '/v1/quantities'];

describe('answers that are kept', () => {
  onEachDatabase((open) => {
    let service: Service;
    /** A second server on the same database. */
    let other: Service;
    const upload = async (label: string, shared: boolean, speed: number) => {
      const contact = { closedFrame: 220, openFrame: 225 + (speed > 4 ? 0 : 2) };
      const sent = await service.ask(
        'contributor',
        'POST',
        `/v1/labs/${lab}/submissions`,
        validShot(label, { shared, contact }, speed),
      );
      expect(sent.status).toBe(201);
    };
    const get = async (url: string, { at = service, role = 'reader' as const, etag = '', accept = '' } = {}) => {
      const answer = await at.app.inject({
        url,
        headers: {
          authorization: `Bearer ${at.tokens[role]}`,
          ...(etag === '' ? {} : { 'if-none-match': etag }),
          ...(accept === '' ? {} : { accept }),
        },
      });
      return {
        status: answer.statusCode,
        body: answer.body,
        etag: String(answer.headers.etag),
        headers: answer.headers,
      };
    };

    beforeAll(async () => {
      service = await startService(open());
      other = await startService(open());
      for (const [place, speed] of [2.2, 3.1, 4.6, 5.2].entries()) await upload(`first-${place}`, true, speed);
    });
    afterAll(async () => {
      await service.app.close();
      await other.app.close();
    });

    it('gives the same bytes with the same validator to who asks again, and nothing to who has them', async () => {
      const first = await get(link);
      expect(first.status).toBe(200);
      const again = await get(link);
      expect(again).toMatchObject({ status: 200, body: first.body, etag: first.etag });
      const had = await get(link, { etag: `"other", W/${first.etag}` });
      expect(had).toMatchObject({ status: 304, body: '', etag: first.etag });
      const table = await get(link, { accept: 'text/csv' });
      expect(table.headers['content-type']).toContain('text/csv');
      expect(table.etag).not.toBe(first.etag);
      expect((await get(link, { accept: 'text/csv', etag: first.etag })).status).toBe(200);
      const named = await get(String(first.headers['content-location']), { etag: first.etag });
      expect(named.status).toBe(304);
    });

    it('counts what was written from the moment of its acknowledgement', async () => {
      const before = await get(link);
      await upload('counts-at-once', true, 3.7);
      const after = await get(link, { etag: before.etag });
      expect(after.status).toBe(200);
      expect(JSON.parse(after.body).result.provenance.shots).toBe(JSON.parse(before.body).result.provenance.shots + 1);
    });

    it('hears within a second what was written on another server', async () => {
      const before = await get(link, { at: other });
      await upload('heard-elsewhere', true, 4.1);
      await expect
        .poll(async () => (await get(link, { at: other, etag: before.etag })).status, { timeout: 10_000 })
        .toBe(200);
      expect((await get(link, { at: other })).body).toBe((await get(link)).body);
    });

    it('shows no byte and no validator of a shot that is not shared to anybody else', async () => {
      const urls = [link, ...lists];
      const before = await Promise.all(urls.map((url) => get(url)));
      await upload('kept-to-ourselves', false, 4.9);
      const after = await Promise.all(urls.map((url) => get(url)));
      expect(after.map(({ body, etag }) => ({ body, etag }))).toEqual(before.map(({ body, etag }) => ({ body, etag })));
      const own = `${link}&scope=lab:${lab}`;
      expect((await get(own)).status).toBe(404);
      const seen = await service.ask('contributor', 'GET', own);
      expect(seen.headers['cache-control']).toMatch(/^private/);
      expect(seen.json.result.provenance.shots).toBe(JSON.parse(before[0]?.body ?? '').result.provenance.shots + 1);
      // Asked and kept for its lab, the answer is still nobody else's.
      expect((await get(own)).status).toBe(404);
      expect((await get(`/v1/analyses/${seen.json.id}`)).status).toBe(404);
    });

    it('forgets an ended token at once here and within a second elsewhere', async () => {
      const made = await service.ask('curator', 'POST', '/v1/tokens', { role: 'reader', note: 'short-lived' });
      const token = { token: made.json.token };
      for (const at of [service, other]) expect((await at.ask(token, 'GET', link)).status).toBe(200);
      await service.ask('curator', 'DELETE', `/v1/tokens/${made.json.id}`);
      expect((await service.ask(token, 'GET', link)).status).toBe(401);
      await expect.poll(async () => (await other.ask(token, 'GET', link)).status, { timeout: 10_000 }).toBe(401);
    });
  });
});
