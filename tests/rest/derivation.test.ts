/** A derivation explained and drawn, and the change to a newer method version, over HTTP. */
import { setTimeout } from 'node:timers/promises';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { deriveShot } from '../../src/derivation/derive-shot.ts';
import { type Derive, newestMethod, publishedMethods } from '../../src/derivation/methods.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

const published = newestMethod(publishedMethods);
const second: Derive = (shot, gear) => {
  const { derived, faults } = deriveShot(shot, gear);
  return { derived: { ...derived, methodVersion: 'next' }, faults };
};

onEachDatabase((open) => {
  let service: Service;
  let shared: string;
  let own: string;
  beforeAll(async () => {
    service = await startService(open(), { methods: new Map([...publishedMethods, ['next', second]]) });
    const shots = [validShot('d-1'), validShot('d-2', { shared: false }, 2)];
    await service.ask('contributor', 'POST', `/v1/labs/${lab}/submissions`, { shots });
    const listed = await service.ask('contributor', 'GET', '/v1/shots');
    [shared, own] = listed.json.shots.map(({ id }: { id: string }) => id);
  });
  afterAll(() => service.app.close());

  it('explains the derivation: result, inputs, steps with links that resolve, budget, flags in words', async () => {
    const answer = await service.ask('reader', 'GET', `/v1/shots/${shared}/derivation`);
    expect(answer.status, answer.text).toBe(200);
    const { result, inputs, steps, budget, flags, label, methodVersion } = answer.json;
    expect([label, methodVersion, result.methodVersion]).toEqual(['d-1', published, published]);
    expect(inputs.length).toBeGreaterThan(5);
    const methods = (await service.ask('none', 'GET', '/v1/methods')).text;
    expect(steps.length).toBeGreaterThan(9);
    for (const step of steps) {
      const [path, anchor] = step.methods.split('#');
      expect(path).toBe('/v1/methods');
      expect(methods).toContain(`<a id="${anchor}"></a>`);
    }
    const speed = budget.find((each: { result: string }) => each.result === 'cueSpeed');
    expect(speed.lines.map(({ group }: { group: string | null }) => group)).toContain('rig main@1');
    for (const flag of flags) expect(flag.meaning.length).toBeGreaterThan(15);
  });

  it('draws the shot, with the same bytes each time', async () => {
    const address = (await service.ask('reader', 'GET', `/v1/shots/${shared}/derivation`)).json.figure;
    const first = await service.ask('reader', 'GET', address);
    expect(first.headers['content-type']).toBe('image/svg+xml; charset=utf-8');
    expect(first.text).toMatch(/^<svg xmlns=.*<\/svg>\n$/s);
    expect((await service.ask('reader', 'GET', address)).text).toBe(first.text);
  });

  it('shows neither to those who may not see the shot', async () => {
    for (const view of ['derivation', 'figure.svg']) {
      expect((await service.ask('contributor', 'GET', `/v1/shots/${own}/${view}`)).status).toBe(200);
      for (const role of ['reader', 'curator'] as const) {
        expect((await service.ask(role, 'GET', `/v1/shots/${own}/${view}`)).json.code).toBe('not-found');
      }
    }
  });

  it('recomputes, reports progress and changes, and activates', async () => {
    expect((await service.ask('lead', 'POST', '/v1/recomputations')).json.code).toBe('forbidden');
    const started = await service.ask('curator', 'POST', '/v1/recomputations');
    expect(started.status, started.text).toBe(202);
    const address = String(started.headers.location);
    let state = started.json;
    for (let tries = 0; state.state === 'deriving' && tries < 200; tries += 1) {
      await setTimeout(20);
      state = (await service.ask('curator', 'GET', address)).json;
    }
    expect(state).toMatchObject({ state: 'derived', total: 2, done: 2, changes: { shots: 2, changed: 0 } });
    // Side by side: the upload was derived under both from the start.
    const beside = await service.ask('reader', 'GET', `/v1/shots/${shared}/derivation?method=next`);
    expect(beside.json.methodVersion).toBe('next');
    expect((await service.ask('reader', 'GET', `/v1/shots/${shared}`)).json.derived.methodVersion).toBe(published);

    const activated = await service.ask('curator', 'POST', `${address}/activation`);
    expect(activated.json).toMatchObject({ state: 'activated', toMethod: 'next' });
    expect((await service.ask('reader', 'GET', `/v1/shots/${shared}`)).json.derived.methodVersion).toBe('next');
    const all = await service.ask('curator', 'GET', '/v1/recomputations');
    expect(all.json.recomputations).toEqual([activated.json]);
    expect((await service.ask('curator', 'POST', '/v1/recomputations')).json.code).toBe('method-current');
  });
});
