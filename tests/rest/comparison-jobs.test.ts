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

  it('leads from the verdict to the pairs, from a pair to its shots, from a shot to the frames counted', async () => {
    const answer = (await ask(0.92)).json();
    const page = await service.ask('reader', 'GET', `${answer.links.pairs}?limit=4`);
    expect(page.status, page.text).toBe(200);
    expect(page.json.sentence).toBe(answer.result.sentence);
    expect(page.json.pairs.map(({ pair }: { pair: number }) => pair)).toEqual([1, 2, 3, 4]);
    const rest = await service.ask('reader', 'GET', /^<([^>]+)>/.exec(String(page.headers.link))?.[1] ?? '');
    expect([...page.json.pairs, ...rest.json.pairs]).toHaveLength(answer.result.pairs.length);
    const [pair] = page.json.pairs;
    expect(pair.first).toMatchObject({
      label: answer.result.pairs[0].first.label,
      response: answer.result.pairs[0].first.response,
      contact: { closedFrame: 220, openFrame: 226, trimmedStart: 1, trimmedEnd: 0 },
      unchanged: true,
    });
    for (const address of [pair.first.shot, pair.first.derivation, pair.first.track, pair.first.figure, pair.overlay]) {
      expect((await service.ask('reader', 'GET', address)).status, address).toBe(200);
    }
    const shot = (await service.ask('reader', 'GET', pair.first.shot)).json;
    expect(shot.content.contact).toEqual(pair.first.contact);

    const { label } = pair.second;
    const change = { revision: 1, changes: { outcome: { distance: { value: -7, unit: 'cm' } } }, reason: 'misread' };
    const revised = await service.ask('lead', 'POST', `${pair.second.shot}/revisions`, change);
    expect(revised.status, revised.text).toBeLessThan(300);
    await service.ask('lead', 'POST', `${pair.first.shot}/withdrawal`, { reason: 'wrong ball' });
    const [later] = (await service.ask('reader', 'GET', answer.links.pairs)).json.pairs;
    expect(later.second).toMatchObject({ label, unchanged: false });
    expect(later.first).toMatchObject({ shot: null, contact: null, unchanged: null });
    expect(later.overlay).toBeNull();
    const nothing = await service.ask('reader', 'GET', `/v1/analyses/${'0'.repeat(64)}/pairs`);
    expect(nothing.status).toBe(404);
    expect((await service.ask('reader', 'GET', `${answer.links.pairs}?after=x`)).status).toBe(422);
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
