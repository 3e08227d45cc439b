import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

const link = (confidence: number) =>
  `/v1/regression?response=contactTime&terms=cueSpeed&labs=ignored&confidence=${confidence}`;

describe('long questions', () => {
  onEachDatabase((open) => {
    let service: Service;
    let address: string;

    beforeAll(async () => {
      // Every question counts as long; one at a time, and one may wait.
      service = await startService(open(), { manyShots: 0, threads: { threads: 1, queue: 1 } });
      const shots = [2, 2.6, 3.2, 4.1].map((speed, place) =>
        validShot(`long-${place}`, { contact: { closedFrame: 220, openFrame: 224 + (place % 3) } }, speed),
      );
      const sent = await service.ask('contributor', 'POST', `/v1/labs/${lab}/submissions`, { shots });
      expect(sent.status).toBe(201);
      address = await service.app.listen({ host: '127.0.0.1', port: 0 });
    });
    afterAll(() => service.app.close());

    it('are refused with a time to try again when as many wait as may, while health is answered at once', async () => {
      const order: string[] = [];
      const ask = async (name: string, url: string) => {
        const answer = await service.ask('reader', 'GET', url);
        order.push(name);
        return answer;
      };
      // The first has to start its thread.
      const asked = [0.91, 0.92, 0.93].map((confidence) => ask(`question ${confidence}`, link(confidence)));
      const health = await ask('health', '/livez');
      const answers = await Promise.all(asked);
      expect(health.status).toBe(200);
      expect(answers.map(({ status }) => status).sort((first, second) => first - second)).toEqual([200, 200, 503]);
      const refused = answers.find(({ status }) => status === 503);
      expect(refused?.json).toMatchObject({ code: 'not-ready' });
      expect(Number(refused?.headers['retry-after'])).toBeGreaterThan(0);
      expect(order.slice(0, 2)).toContain('health');
      expect((await service.ask('reader', 'GET', link(0.93))).status).toBe(200);
    });

    it('end when nobody waits for them any more', async () => {
      const authorization = `Bearer ${service.tokens.reader}`;
      const asked = [0.94, 0.95].map((confidence) => {
        const gone = new AbortController();
        const answer = fetch(`${address}${link(confidence)}`, { headers: { authorization }, signal: gone.signal });
        return { gone, answer: answer.catch(() => 'gone') };
      });
      for (const { gone } of asked) gone.abort();
      expect(await Promise.all(asked.map(({ answer }) => answer))).toEqual(['gone', 'gone']);
      // Both places are free again.
      const next = await Promise.all([0.96, 0.97].map((confidence) => service.ask('reader', 'GET', link(confidence))));
      expect(next.map(({ status }) => status)).toEqual([200, 200]);
    });
  });
});
