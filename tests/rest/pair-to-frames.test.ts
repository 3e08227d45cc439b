/** From the sentence of a comparison down to the frames that were counted, over the public interface. */
import { beforeAll, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

onEachDatabase((open) => {
  let service: Service;

  beforeAll(async () => {
    service = await startService(open());
    const shots = Array.from({ length: 12 }, (_, n) =>
      validShot(
        `S ${String(n).padStart(2, '0')}`,
        { outcome: { distance: { value: -20 - ((n * n * 7) % 11), unit: 'cm' }, ended: 'atRest' }, shared: true },
        2 + n * 0.02,
        n % 2 === 0 ? 25 : -15,
      ),
    );
    const sent = await service.ask('lead', 'POST', `/v1/labs/${lab}/submissions`, { shots });
    expect(sent.status, sent.text).toBe(201);
  });

  it('a pair names lab and label, which lead to the shot, its derivation and its track', async () => {
    const question = {
      contrast: { kind: 'sign', variable: 'cueAcceleration' },
      response: 'outcomeDistance',
      match: [{ variable: 'cueSpeed', caliper: 0.2 }],
    };
    const { result } = (await service.ask('reader', 'POST', '/v1/analyses/comparison', question)).json;
    expect(result.sentence).toMatch(/^\d pairs, same lab and set-up, /);
    for (const side of ['first', 'second'] as const) {
      const named = result.pairs[0][side];
      const query = new URLSearchParams({ lab: named.lab, label: named.label });
      const { shots } = (await service.ask('reader', 'GET', `/v1/shots?${query.toString()}`)).json;
      expect(shots).toHaveLength(1);
      expect(shots[0].derived.outcomeDistance.value).toBe(named.response);
      const derivation = await service.ask('reader', 'GET', `/v1/shots/${shots[0].id}/derivation`);
      expect(derivation.json.steps.length).toBeGreaterThan(3);
      const track = await service.ask('reader', 'GET', `/v1/shots/${shots[0].id}/track`);
      expect(track.json.positions.length).toBeGreaterThan(100);
    }
    const { shots: none } = (await service.ask('reader', 'GET', `/v1/shots?lab=${lab}&label=nothing`)).json;
    expect(none).toEqual([]);
  });
});
