/** Every code of the closed table is provoked over HTTP, and its remedy is there to read. */
import { Readable } from 'node:stream';
import { setTimeout as sleep } from 'node:timers/promises';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { type Fault, type ProblemCode, problems } from '../../shared/problems.ts';
import type { ShotInput } from '../../shared/shot.ts';
import { buildApp } from '../../src/app.ts';
import { type Derive, publishedMethods } from '../../src/derivation/methods.ts';
import type { Database, OpenDatabase } from '../../src/store/database.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { type Answer, gear, lab, type Service, startService, validShot } from './service.ts';

const uploads = `/v1/labs/${lab}/submissions`;
const regression = { response: 'contactTime', terms: [[{ variable: 'cueSpeed' }]] };

/** A database of which every question fails with this error. */
function failing(database: OpenDatabase, error: Error): OpenDatabase {
  const db = new Proxy(database.db, {
    get: () => () => {
      throw error;
    },
  }) as Database;
  return { ...database, db };
}

/** A body that goes on only when told to. */
function stalling(text: string): { body: Readable; finish: () => void } {
  let finish: () => void = () => {};
  const wait = new Promise<void>((resolve) => {
    finish = resolve;
  });
  const body = Readable.from(
    (async function* () {
      yield text;
      await wait;
    })(),
    { objectMode: false },
  );
  return { body, finish };
}

async function upload({ app }: Service, token: string, payload: string | Readable, key?: string): Promise<Answer> {
  const answer = await app.inject({
    method: 'POST',
    url: uploads,
    headers: {
      authorization: `Bearer ${token}`,
      'content-type': 'application/json',
      ...(key === undefined ? {} : { 'idempotency-key': key }),
    },
    payload,
  });
  return { status: answer.statusCode, headers: answer.headers, text: answer.body, json: answer.json() };
}

/** Id of a shot stored now. */
async function storedId({ ask }: Service, shot: ShotInput): Promise<string> {
  const receipt = await ask('contributor', 'POST', uploads, shot);
  const { json } = await ask('contributor', 'GET', `${receipt.json.shots}`);
  return json.shots[0].shot;
}

/** The problem in the extensions of an answer over GraphQL, as REST gives it. */
function problemOfAnswer(answer: Answer): Answer {
  const problem = answer.json.errors[0].extensions;
  return { ...answer, status: problem.status, json: problem };
}

type Provoke = (service: Service, database: OpenDatabase) => Promise<Answer>;

/** Problems of GraphQL alone: they stand in the extensions of an answer. */
const graphqlCases: Partial<Record<ProblemCode, Provoke>> = {
  'persisted-query-unknown': async ({ ask }) =>
    problemOfAnswer(
      await ask('reader', 'POST', '/graphql', { extensions: { persistedQuery: { sha256Hash: '0'.repeat(64) } } }),
    ),
  'query-too-costly': async ({ ask }) =>
    problemOfAnswer(
      await ask('reader', 'POST', '/graphql', {
        query: '{ shots(first: 500) { nodes { derivation { methodVersion } } } }',
      }),
    ),
};

const requestCases: Partial<Record<ProblemCode, Provoke>> = {
  'malformed-body': ({ ask }) => ask('curator', 'POST', '/v1/labs', '{"slug":'),
  'unsupported-media-type': ({ ask }) => ask('contributor', 'POST', uploads, 'label', 'text/plain'),
  'body-too-large': async (_service, database) => {
    const small = await startService(database, { maximumUploadBytes: 1000 });
    return small.ask('contributor', 'POST', uploads, { shots: [validShot('too-large')] });
  },
  'line-too-long': ({ ask }) =>
    ask('contributor', 'POST', uploads, `{"note":"${'x'.repeat(8_500_000)}"}\n`, 'application/x-ndjson'),
  unauthenticated: ({ ask }) => ask('none', 'GET', '/v1/labs'),
  'token-expired': async ({ ask }) => {
    const made = await ask('curator', 'POST', '/v1/tokens', { role: 'reader', note: 'to be revoked' });
    await ask('curator', 'DELETE', `/v1/tokens/${made.json.id}`);
    return ask({ token: made.json.token }, 'GET', '/v1/labs');
  },
  forbidden: ({ ask }) =>
    ask('reader', 'POST', '/v1/labs', { slug: 'another', title: 'x', dataLicence: 'CC0-1.0', consentReference: 'x' }),
  'not-found': ({ ask }) => ask('reader', 'GET', '/v1/labs/nowhere'),
  'name-taken': ({ ask }) =>
    ask('curator', 'POST', '/v1/labs', { slug: lab, title: 'x', dataLicence: 'CC0-1.0', consentReference: 'x' }),
  'margin-superseded': async ({ ask }) => {
    const margin = { variable: 'outcomeDistance', value: 0.02, reason: 'half a ball is what a player can use' };
    const first = await ask('curator', 'POST', '/v1/margins', margin);
    await ask('curator', 'POST', '/v1/margins', { ...margin, value: 0.03, supersedes: first.json.id });
    return ask('curator', 'POST', '/v1/margins', { ...margin, value: 0.04, supersedes: first.json.id });
  },
  'request-invalid': ({ ask }) =>
    ask('reader', 'POST', '/v1/analyses/regression', { ...regression, response: 'colour' }),
  'submission-rejected': ({ ask }) =>
    ask('contributor', 'POST', uploads, { shots: [validShot('refused', { rig: 'nothing' })] }),
  'body-too-slow': async ({ tokens }, database) => {
    const pace = { idleSeconds: 0.05, leastBytesPerSecond: 0, graceSeconds: 1 };
    const slow = await startService(database, { pace });
    return upload(slow, tokens.contributor, stalling('{').body);
  },
  'upload-in-progress': async (service) => {
    const { body, finish } = stalling(JSON.stringify(validShot('b-progress')));
    const token = service.tokens.contributor;
    const first = upload(service, token, body, 'key-progress');
    // Long enough for the first to be known to the database.
    await sleep(300);
    const answer = await upload(service, token, JSON.stringify(validShot('b-progress')), 'key-progress');
    expect(answer.headers['retry-after']).toBe('5');
    finish();
    await first;
    return answer;
  },
  'idempotency-key-reused': async (service) => {
    const token = service.tokens.contributor;
    await upload(service, token, JSON.stringify(validShot('b-key-1')), 'key-reused');
    return upload(service, token, JSON.stringify(validShot('b-key-2')), 'key-reused');
  },
  'shot-changed': async (service) => {
    const id = await storedId(service, validShot('b-changed'));
    const amendment = { revision: 2, changes: { player: 'P2' }, reason: 'the wrong player was noted' };
    return service.ask('contributor', 'POST', `/v1/shots/${id}/revisions`, amendment);
  },
  'shot-released': async (service) => {
    const { ask } = service;
    await storedId(service, validShot('b-released', { sessionDate: '2026-04-01' }));
    const filter = { groups: [{ grouping: 'sessionDate', values: ['2026-04-01'] }] };
    await ask('curator', 'POST', '/v1/datasets', { slug: 'held', title: 'Held', licence: 'CC0-1.0', filter });
    const release = await ask('curator', 'POST', '/v1/datasets/held/releases', {});
    expect(release.status, release.text).toBe(201);
    return ask('contributor', 'POST', `/v1/labs/${lab}/unsharing`, { labels: ['b-released'] });
  },
  'not-estimable': ({ ask }) => ask('reader', 'POST', '/v1/analyses/regression', regression),
  'release-invalid': async ({ ask }) => {
    const filter = { ranges: [{ variable: 'cueSpeed', min: 19, max: 19.5 }] };
    await ask('curator', 'POST', '/v1/datasets', { slug: 'empty', title: 'Nothing', licence: 'CC0-1.0', filter });
    return ask('curator', 'POST', '/v1/datasets/empty/releases', {});
  },
  'method-current': ({ ask }) => ask('curator', 'POST', '/v1/recomputations'),
  'recomputation-unfinished': async ({ ask }, database) => {
    await ask('contributor', 'POST', uploads, validShot('b-underived'));
    // A server with a newer method that can derive nothing: it never finishes.
    const stuck: Derive = () => {
      throw new Error('invented failure');
    };
    const newer = await startService(database, { methods: new Map([...publishedMethods, ['next', stuck]]) });
    const started = await newer.ask('curator', 'POST', '/v1/recomputations');
    const answer = await newer.ask('curator', 'POST', `${String(started.headers.location)}/activation`);
    await newer.app.close();
    return answer;
  },
  internal: async ({ tokens }, database) => {
    const app = await buildApp({ database: failing(database, new TypeError('secret inner text')) });
    const answer = await app.inject({ url: '/v1/labs', headers: { authorization: `Bearer ${tokens.reader}` } });
    return { status: answer.statusCode, headers: answer.headers, text: answer.body, json: answer.json() };
  },
  'not-ready': async ({ tokens }, database) => {
    const away = Object.assign(new Error('terminating connection due to administrator command'), { code: '57P01' });
    const app = await buildApp({ database: failing(database, away) });
    const answer = await app.inject({ url: '/v1/labs', headers: { authorization: `Bearer ${tokens.reader}` } });
    return { status: answer.statusCode, headers: answer.headers, text: answer.body, json: answer.json() };
  },
};

/** One shot broken in one way, and where the fault must point. */
const shotCases: Partial<Record<ProblemCode, { readonly shots: ShotInput[]; readonly pointer: RegExp }>> = {
  'structure-invalid': { shots: [{ ...validShot('b-structure'), tipOffset: 3 } as ShotInput], pointer: /^/ },
  'unit-unknown': {
    shots: [validShot('b-unit', { objectBallDistance: { value: 0.8, unit: 'metre-ish' } })],
    pointer: /^\/objectBallDistance/,
  },
  'unit-dimension': {
    shots: [validShot('b-dimension', { objectBallDistance: { value: 0.8, unit: 'kg' } })],
    pointer: /^\/objectBallDistance/,
  },
  'limit-exceeded': {
    shots: [validShot('b-limit', { objectBallDistance: { value: 80, unit: 'm' } })],
    pointer: /^\/objectBallDistance/,
  },
  'label-duplicate': { shots: [validShot('b-twice'), validShot('b-twice', {}, 2.5)], pointer: /^\/label/ },
  'gear-unknown': { shots: [validShot('b-gear', { cue: 'lost' })], pointer: /^\/cue/ },
  'time-base-playback': {
    shots: [withTimes(validShot('b-playback'), 25)],
    pointer: /^\/cueTrack\/times/,
  },
  'time-base-mismatch': { shots: [withTimes(validShot('b-mismatch'), 3111)], pointer: /^\/cueTrack\/times/ },
  'rate-confusion': { shots: [validShot('b-rate', { rig: 'confused' })], pointer: /^\/(rig|cueTrack|contact)/ },
  'frames-not-increasing': {
    shots: [
      withTrack(validShot('b-frames'), (track) => ({
        unit: track.unit,
        positions: track.positions,
        frames: track.positions.map((_, k) => (k === 100 ? 99 : k)),
      })),
    ],
    pointer: /^\/cueTrack\/frames/,
  },
  'track-lengths-differ': {
    shots: [
      withTrack(validShot('b-lengths'), (track) => ({
        unit: track.unit,
        positions: track.positions,
        frames: [0, 1, 2],
      })),
    ],
    pointer: /^\/cueTrack/,
  },
  'track-too-short': {
    shots: [
      withTrack(validShot('b-short', { contact: { closedFrame: 5, openFrame: 9 } }), (track) => ({
        ...track,
        positions: track.positions.slice(0, 12),
      })),
    ],
    pointer: /^\/cueTrack/,
  },
  'track-motionless': {
    shots: [withTrack(validShot('b-still'), (track) => ({ ...track, positions: track.positions.map((x) => -x) }))],
    pointer: /^\/cueTrack/,
  },
  'track-duplicate': {
    shots: [validShot('b-first'), { ...validShot('b-first'), label: 'b-again' }],
    pointer: /^\/cueTrack/,
  },
  'scale-missing': {
    shots: [withTrack(validShot('b-pixels'), (track) => ({ ...track, unit: 'px' }))],
    pointer: /^\/cueTrack\/unit/,
  },
  'contact-frames-order': {
    shots: [validShot('b-swapped', { contact: { closedFrame: 226, openFrame: 220 } })],
    pointer: /^\/contact/,
  },
  'contact-outside-track': {
    shots: [validShot('b-outside', { contact: { closedFrame: 900, openFrame: 905 } })],
    pointer: /^\/contact/,
  },
  'trim-too-large': {
    shots: [validShot('b-trim', { contact: { closedFrame: 220, openFrame: 226, trimmedStart: 4, trimmedEnd: 3 } })],
    pointer: /^\/contact/,
  },
  'first-contact-missing': {
    shots: [validShot('b-contact', { contact: { countedFrames: 5 } })],
    pointer: /^\/contact/,
  },
  'sign-missing': {
    shots: [validShot('b-ring', { tipHeight: { method: 'ring', ring: 2, ringStep: { value: 4, unit: 'mm' } } })],
    pointer: /^\/tipHeight\/side/,
  },
  'outside-ball': {
    shots: [validShot('b-ball', { tipHeight: { method: 'contactMark', height: { value: 35, unit: 'mm' } } })],
    pointer: /^\/tipHeight/,
  },
};

function withTrack(
  shot: ShotInput,
  change: (track: NonNullable<ShotInput['cueTrack']>) => ShotInput['cueTrack'],
): ShotInput {
  if (shot.cueTrack === undefined) throw new Error('the shot has no track');
  return { ...shot, cueTrack: change(shot.cueTrack) };
}

function withTimes(shot: ShotInput, rate: number): ShotInput {
  return withTrack(shot, (track) => ({
    ...track,
    times: { unit: 's', values: track.positions.map((_, frame) => frame / rate) },
  }));
}

const rigCases: Partial<Record<ProblemCode, object>> = {
  'exposure-too-long': { ...gear.rigs.main, exposure: { value: 1, unit: 'ms' } },
  'playback-above-capture': {
    ...gear.rigs.main,
    captureRate: { value: 25, unit: 'frames/s' },
    playbackRate: { value: 4000, unit: 'frames/s' },
    exposure: undefined,
  },
};

/** Cases that need more than one request of their own kind. */
const otherCases: Partial<Record<ProblemCode, Provoke>> = {
  'track-without-shot': ({ ask }) => {
    const part = (name: string, text: string) =>
      `--x\r\nContent-Disposition: form-data; name="${name}"; filename="${name}.csv"\r\n\r\n${text}\r\n`;
    const tables = [
      part('shots', 'label,rig\nb-untracked,main\n'),
      part('tracks', 'label,frame,position[mm]\nb-other,1,2\n'),
    ];
    return ask('contributor', 'POST', uploads, `${tables.join('')}--x--\r\n`, 'multipart/form-data; boundary=x');
  },
  'track-missing': ({ ask }) =>
    ask('contributor', 'POST', uploads, 'label,rig,tracks\nb-untracked,main,cue\n', 'text/csv'),
  'label-taken': async ({ ask }) => {
    await ask('contributor', 'POST', uploads, validShot('b-taken'));
    return ask('contributor', 'POST', uploads, validShot('b-taken', {}, 2));
  },
  'value-not-finite': ({ ask }) => {
    const text = JSON.stringify(validShot('b-finite')).replace('"value":0.8', '"value":1e999');
    return ask('contributor', 'POST', uploads, `${text}\n`, 'application/x-ndjson');
  },
};

onEachDatabase((open) => {
  let service: Service;
  beforeAll(async () => {
    service = await startService(open());
  });
  afterAll(() => service.app.close());

  it.each(Object.entries(requestCases) as [ProblemCode, Provoke][])(
    '%s: the request is refused with its remedy',
    async (code, provoke) => {
      const answer = await provoke(service, open());
      expect(answer.json).toMatchObject({
        code,
        status: problems[code].status,
        title: problems[code].title,
        remedy: problems[code].remedy,
      });
      expect(answer.status).toBe(problems[code].status);
      expect(answer.headers['content-type']).toContain('application/problem+json');
      expect(answer.text).not.toContain('secret inner text');
    },
  );

  it('says what stood where a request is not valid, in the body and in the address', async () => {
    const body = await service.ask('reader', 'POST', '/v1/analyses/regression', { ...regression, response: 'colour' });
    expect(body.json.errors[0]).toMatchObject({ pointer: '/response', found: 'colour' });
    const link = await service.ask('reader', 'GET', '/v1/shots?limit=many');
    expect(link.json.errors[0]).toMatchObject({ pointer: '/limit', found: 'many' });
    const missing = await service.ask('curator', 'POST', '/v1/labs', { slug: 'half' });
    expect(missing.json.errors).toContainEqual(expect.objectContaining({ pointer: '/title', found: 'nothing' }));
  });

  it.each(Object.entries(graphqlCases) as [ProblemCode, Provoke][])('%s: the answer says so', async (code, provoke) => {
    const { status, json } = await provoke(service, open());
    expect(status).toBe(problems[code].status);
    expect(json).toMatchObject({ code, remedy: problems[code].remedy });
    expect(json.detail.length).toBeGreaterThan(10);
  });

  it.each(Object.entries(shotCases))(
    '%s: the receipt names the place and the remedy',
    async (code, { shots, pointer }) => {
      const answer = await service.ask('contributor', 'POST', uploads, { shots });
      expect(answer.status, answer.text).toBe(422);
      const faults: Fault[] = answer.json.receipt.rejected.flatMap((shot: { faults: Fault[] }) => shot.faults);
      const fault = faults.find((one) => one.code === code);
      expect(fault, JSON.stringify(faults)).toBeDefined();
      expect(fault?.pointer).toMatch(pointer);
      for (const text of [fault?.found, fault?.expected, fault?.remedy]) expect(text?.length).toBeGreaterThan(2);
    },
  );

  it.each(Object.entries(rigCases))('%s: the rig is refused', async (code, content) => {
    const answer = await service.ask('lead', 'POST', `/v1/labs/${lab}/rigs`, {
      name: `r-${code}`.slice(0, 30).replace(/-$/, ''),
      content,
    });
    expect(answer.status).toBe(422);
    expect(answer.json.errors).toEqual([
      expect.objectContaining({ code, remedy: problems[code as ProblemCode].remedy }),
    ]);
  });

  it.each(Object.entries(otherCases) as [ProblemCode, Provoke][])('%s: the receipt says so', async (code, provoke) => {
    const answer = await provoke(service, open());
    expect(answer.status, answer.text).toBe(422);
    const faults: Fault[] = answer.json.receipt.rejected.flatMap((shot: { faults: Fault[] }) => shot.faults);
    expect(faults.map((fault) => fault.code)).toContain(code);
    expect(faults.find((fault) => fault.code === code)?.remedy.length).toBeGreaterThan(10);
  });
});

describe('the table of problem codes', () => {
  it('has no code that is not provoked above', () => {
    const provoked = [requestCases, graphqlCases, shotCases, rigCases, otherCases].flatMap((cases) =>
      Object.keys(cases),
    );
    expect(provoked.sort()).toEqual(Object.keys(problems).sort());
  });
});
