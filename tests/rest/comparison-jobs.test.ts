/** POST /v1/analyses/comparison over HTTP: at once, or as a job with an address. */
import type { InjectOptions } from 'fastify';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

const question = (confidence: number) => ({
  contrast: { kind: 'sign', variable: 'cueAcceleration' },
  response: 'outcomeDistance',
  match: [{ variable: 'cueSpeed', caliper: 0.3 }],
  confidence,
});

onEachDatabase((open) => {
  let service: Service;
  beforeAll(async () => {
    service = await startService(open());
    const shots = Array.from({ length: 12 }, (_, place) => {
      const outcome = { distance: { value: -20 - 0.3 * place * place, unit: 'cm' }, ended: 'atRest' as const };
      return validShot(`shot-${place}`, { outcome }, 2.5 + 0.05 * place, place % 2 === 0 ? 25 : -15);
    });
    const sent = await service.ask('lead', 'POST', `/v1/labs/${lab}/submissions`, { shots });
    expect(sent.status, sent.text).toBe(201);
  });
  afterAll(() => service.app.close());

  const ask = (confidence: number, prefer?: string) => {
    const request: InjectOptions = {
      method: 'POST',
      url: '/v1/analyses/comparison',
      headers: { authorization: `Bearer ${service.tokens.reader}`, ...(prefer === undefined ? {} : { prefer }) },
      payload: question(confidence),
    };
    return service.app.inject(request);
  };

  it('answers a small question at once, with the bytes that its link gives later', async () => {
    const answer = await ask(0.9);
    expect(answer.statusCode, answer.body).toBe(200);
    const again = await service.ask('reader', 'GET', String(answer.headers.location));
    expect(again.text).toBe(answer.body);
    expect(again.json.result.kind).toBe('comparison');
  });

  it('answers 202 with the address of a job to who prefers it, and the job leads to the answer', async () => {
    const accepted = await ask(0.91, 'respond-async');
    expect(accepted.statusCode, accepted.body).toBe(202);
    const address = String(accepted.headers.location);
    expect(address).toBe(`/v1/jobs/${accepted.json().id}`);
    expect(accepted.headers['retry-after']).toBe('1');
    const later = await ask(0.91, 'wait=30');
    expect([200, 202]).toContain(later.statusCode);
    let job = accepted.json();
    for (let round = 0; round < 200 && job.finishedAt === null; round += 1) {
      await new Promise((resolve) => setTimeout(resolve, 50));
      job = (await service.ask('reader', 'GET', address)).json;
    }
    expect(job.state).toBe('finished');
    const answer = await service.ask('reader', 'GET', job.result);
    expect(answer.json.id).toBe(job.analysis);
    const stored = await ask(0.91, 'respond-async');
    expect(stored.statusCode).toBe(200);
    expect(stored.body).toBe(answer.text);
    const kept = await service.ask('reader', 'DELETE', address);
    expect(kept.json).toEqual(job);
  });
});
