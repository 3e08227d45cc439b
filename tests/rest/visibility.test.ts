/**
 * Who sees what, over every route of the interface description: a lab has one unshared shot that carries a marker, and
 * the marker must appear in no answer to anybody outside the lab. Every route must also refuse whom it should.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, type TestRole, validShot } from './service.ts';

const marker = 'unshared-marker-7f3a';
const outsiders: readonly TestRole[] = ['none', 'reader', 'curator'];
const insiders: readonly TestRole[] = ['lead', 'contributor'];

/** Which roles may write what; a route that is not listed here fails the test below. */
const writers: Readonly<Record<string, readonly TestRole[]>> = {
  'POST /v1/labs': ['curator'],
  'POST /v1/tokens': ['curator'],
  'DELETE /v1/tokens/{token}': ['curator', 'lead'],
  'POST /v1/labs/{lab}/tokens': ['curator', 'lead'],
  'POST /v1/labs/{lab}/rigs': ['lead'],
  'POST /v1/labs/{lab}/rigs/{name}/versions': ['lead'],
  'POST /v1/labs/{lab}/cues': ['lead'],
  'POST /v1/labs/{lab}/cues/{name}/versions': ['lead'],
  'POST /v1/labs/{lab}/tables': ['lead'],
  'POST /v1/labs/{lab}/tables/{name}/versions': ['lead'],
  'POST /v1/labs/{lab}/tables/{name}/calibrations': ['lead'],
  'POST /v1/labs/{lab}/submissions': ['lead', 'contributor'],
  'POST /v1/labs/{lab}/sharing': ['lead', 'contributor'],
  'DELETE /v1/labs/{lab}/sharing/{plan}': ['lead', 'contributor'],
  'POST /v1/labs/{lab}/unsharing': ['lead', 'contributor'],
  'POST /v1/labs/{lab}/rigs/{name}/adoptions': ['lead', 'contributor'],
  'POST /v1/labs/{lab}/cues/{name}/adoptions': ['lead', 'contributor'],
  'POST /v1/labs/{lab}/tables/{name}/adoptions': ['lead', 'contributor'],
  'POST /v1/shots/{shot}/revisions': ['lead', 'contributor'],
  'POST /v1/shots/{shot}/withdrawal': ['lead', 'contributor'],
  'POST /v1/vocabularies': ['curator'],
  'POST /v1/recomputations': ['curator'],
  'POST /v1/recomputations/{recomputation}/activation': ['curator'],
  'POST /v1/labs/{lab}/vocabularies': ['lead'],
  'POST /v1/margins': ['curator', 'lead', 'contributor'],
  'POST /v1/datasets': ['curator'],
  'POST /v1/datasets/{dataset}/releases': ['curator'],
  'POST /v1/analyses/regression': ['curator', 'lead', 'contributor', 'reader'],
  'POST /v1/analyses/comparison': ['curator', 'lead', 'contributor', 'reader'],
  'DELETE /v1/jobs/{job}': ['curator', 'lead', 'contributor', 'reader'],
  'POST /v1/planning': ['curator', 'lead', 'contributor', 'reader'],
};

interface Route {
  readonly method: string;
  readonly path: string;
}

onEachDatabase((open) => {
  let service: Service;
  let routes: Route[] = [];
  let ids: Record<string, string> = {};

  /** The address of a route with the ids of the marked shot, its receipt and its lab filled in. */
  const filled = (path: string) => path.replace(/\{([a-z]+)\}/g, (_, name: string) => ids[name] ?? 'missing');

  beforeAll(async () => {
    service = await startService(open());
    const { paths } = (await service.ask('none', 'GET', '/openapi.json')).json as { paths: Record<string, object> };
    routes = Object.entries(paths).flatMap(([path, operations]) =>
      Object.keys(operations).map((method) => ({ method: method.toUpperCase(), path })),
    );
    const { ask } = service;
    const sharedShots = Array.from({ length: 12 }, (_, place) =>
      validShot(
        `shared-${place}`,
        { contact: { closedFrame: 220, openFrame: 225 + (place % 3) } },
        2 + 0.2 * place,
        place % 2 === 0 ? 25 : -15,
      ),
    );
    await ask('lead', 'POST', `/v1/labs/${lab}/submissions`, { shots: sharedShots });
    const hidden = { shared: false, player: marker.slice(0, 20), note: marker };
    const sent = await ask('lead', 'POST', `/v1/labs/${lab}/submissions`, validShot(marker, hidden, 5.55));
    expect(sent.status, sent.text).toBe(201);
    const regression = { response: 'contactTime', terms: [[{ variable: 'cueSpeed' }]], scope: `lab:${lab}` };
    const own = await ask('lead', 'POST', '/v1/analyses/regression', regression);
    expect(own.status, own.text).toBe(200);
    const margin = await ask('curator', 'POST', '/v1/margins', {
      variable: 'outcomeDistance',
      value: 0.03,
      reason: 'half a ball',
    });
    await ask('curator', 'POST', '/v1/datasets', { slug: 'all', title: 'All shared shots', licence: 'CC-BY-4.0' });
    const release = await ask('curator', 'POST', '/v1/datasets/all/releases', {});
    expect(release.status, release.text).toBe(201);
    const { shots } = (await ask('lead', 'GET', `/v1/shots?lab=${lab}&limit=100`)).json;
    const shot = shots.find(({ label }: { label: string }) => label === marker);
    ids = {
      lab,
      shot: shot.id,
      other: shot.id,
      submission: sent.json.submission,
      id: own.json.id,
      margin: margin.json.id,
      dataset: 'all',
      release: 'all@1',
      name: 'main',
      recomputation: '00000000-0000-4000-8000-000000000000',
      job: '00000000-0000-4000-8000-000000000000',
      plan: '00000000-0000-4000-8000-000000000000',
      token: '00000000-0000-4000-8000-000000000000',
    };
  });
  afterAll(() => service.app.close());

  it('the marked shot is there for its own lab', async () => {
    for (const role of insiders) {
      const answer = await service.ask(role, 'GET', `/v1/shots/${ids.shot}`);
      expect(answer.status, role).toBe(200);
      expect(answer.text).toContain(marker);
    }
  });

  it('no route that reads shows the marked shot to anybody outside its lab', async () => {
    const readable = routes.filter(({ method }) => method === 'GET');
    expect(readable.length).toBeGreaterThan(20);
    for (const { path } of readable) {
      const files = path.endsWith('/files/{name}')
        ? ['shots.csv', 'derived.csv', 'tracks.csv', 'gear.json', 'analyses.json', 'datapackage.json'].map((name) =>
            filled(path.replace('{name}', name)),
          )
        : [path === '/v1/regression' ? `${path}?response=contactTime&terms=cueSpeed` : filled(path)];
      for (const url of files) {
        for (const role of outsiders) {
          const answer = await service.ask(role, 'GET', url);
          expect(answer.status, `${role} ${url}`).toBeLessThan(500);
          expect(answer.text.includes(marker), `${role} ${url}`).toBe(false);
        }
      }
    }
    for (const url of [`/v1/shots/${ids.shot}`, `/v1/submissions/${ids.submission}`, `/v1/analyses/${ids.id}`]) {
      for (const role of ['reader', 'curator'] as const) {
        expect((await service.ask(role, 'GET', url)).status, `${role} ${url}`).toBe(404);
      }
    }
  });

  it('shared answers count shared shots only, whoever asks', async () => {
    const question = '/v1/regression?response=contactTime&terms=cueSpeed';
    const counts: number[] = [];
    for (const role of ['reader', 'curator', 'lead', 'contributor'] as const) {
      counts.push((await service.ask(role, 'GET', question)).json.result.provenance.shots);
    }
    expect(counts).toEqual([12, 12, 12, 12]);
    const { shots } = (await service.ask('reader', 'GET', '/v1/releases/all@1')).json;
    expect(shots).toBe(12);
  });

  it('every route that writes is listed with the roles that may use it, and refuses the others', async () => {
    const writing = routes.filter(({ method }) => method !== 'GET').map(({ method, path }) => `${method} ${path}`);
    expect(writing.sort()).toEqual(Object.keys(writers).sort());
    for (const [route, allowed] of Object.entries(writers)) {
      const [method = '', path = ''] = route.split(' ');
      for (const role of ['none', 'reader', 'contributor', 'lead', 'curator'] as const) {
        if (allowed.includes(role)) continue;
        const answer = await service.ask(role, method, filled(path), bodyFor(route));
        const expected = role === 'none' ? [401] : [403, 404];
        expect(expected, `${role} ${route}: ${answer.text}`).toContain(answer.status);
      }
    }
  });
});

/** A body that the schema of the route accepts, so that it is the permission that refuses. */
function bodyFor(route: string): unknown {
  const adoption = { from: 1, to: 2, reason: 'wrong scale' };
  const rig = { captureRate: { value: 1000, unit: 'Hz' } };
  const bodies: Readonly<Record<string, unknown>> = {
    'POST /v1/labs': { slug: 'x', title: 'x', dataLicence: 'CC0-1.0', consentReference: 'x' },
    'POST /v1/tokens': { role: 'reader', note: 'x' },
    'POST /v1/labs/{lab}/tokens': { role: 'contributor', note: 'x' },
    'POST /v1/labs/{lab}/rigs': { name: 'x', content: rig },
    'POST /v1/labs/{lab}/rigs/{name}/versions': { content: rig },
    'POST /v1/labs/{lab}/cues': { name: 'x', content: {} },
    'POST /v1/labs/{lab}/cues/{name}/versions': { content: {} },
    'POST /v1/labs/{lab}/tables': { name: 'x', content: { discipline: 'pool' } },
    'POST /v1/labs/{lab}/tables/{name}/versions': { content: { discipline: 'pool' } },
    'POST /v1/labs/{lab}/tables/{name}/calibrations': { series: {} },
    'POST /v1/labs/{lab}/submissions': validShot('x'),
    'POST /v1/labs/{lab}/sharing': { all: true },
    'POST /v1/labs/{lab}/unsharing': { all: true },
    'POST /v1/vocabularies': { kind: 'strokeStyle', code: 'long', meaning: 'a long stroke' },
    'POST /v1/labs/{lab}/vocabularies': { kind: 'strokeStyle', code: 'x', term: 'long' },
    'POST /v1/labs/{lab}/rigs/{name}/adoptions': adoption,
    'POST /v1/labs/{lab}/cues/{name}/adoptions': adoption,
    'POST /v1/labs/{lab}/tables/{name}/adoptions': adoption,
    'POST /v1/shots/{shot}/revisions': { revision: 1, changes: { note: 'x' }, reason: 'wrong note' },
    'POST /v1/shots/{shot}/withdrawal': { reason: 'wrong ball' },
    'POST /v1/margins': { variable: 'outcomeDistance', value: 0.03, reason: 'half a ball' },
    'POST /v1/datasets': { slug: 'y', title: 'y', licence: 'CC0-1.0' },
    'POST /v1/datasets/{dataset}/releases': {},
    'POST /v1/analyses/regression': { response: 'contactTime', terms: [[{ variable: 'cueSpeed' }]] },
    'POST /v1/planning': { variable: 'outcomeDistance', size: 0.03, pairSpread: 0.04 },
    'POST /v1/analyses/comparison': {
      contrast: { kind: 'sign', variable: 'cueAcceleration' },
      response: 'outcomeDistance',
    },
  };
  return bodies[route];
}

describe('the list of writing routes', () => {
  it('gives anonymous callers none', () => {
    expect(Object.values(writers).flat()).not.toContain('none');
  });
});
