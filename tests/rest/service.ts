/** The very app that production runs, over a test database, with one lab, its gear and a token of every role. */
import type { FastifyInstance, InjectOptions } from 'fastify';
import type { ShotInput } from '../../shared/shot.ts';
import { ensureFirstCurator } from '../../src/access/tokens.ts';
import { type AppOptions, buildApp } from '../../src/app.ts';
import type { OpenDatabase } from '../../src/store/database.ts';

export interface Answer {
  readonly status: number;
  readonly headers: Readonly<Record<string, unknown>>;
  readonly text: string;
  /** The body as JSON; tests narrow it themselves. */
  // biome-ignore lint/suspicious/noExplicitAny: a test reads fields of many different answers
  readonly json: any; // oxlint-disable-line typescript/no-explicit-any
}

export type TestRole = 'curator' | 'lead' | 'contributor' | 'reader' | 'none';

export interface Service {
  readonly app: FastifyInstance;
  readonly tokens: Readonly<Record<Exclude<TestRole, 'none'>, string>>;
  /** Asks as a role; an object body goes as JSON, a string as `type`. */
  readonly ask: (
    role: TestRole | { token: string },
    method: string,
    url: string,
    body?: unknown,
    type?: string,
  ) => Promise<Answer>;
}

const curatorToken = 'test-curator-token-0123456789-0123456789';
export const lab = 'test-bench';

/** Gear of the test lab: 4000 frames/s in millimetres. */
export const gear = {
  rigs: {
    main: {
      captureRate: { value: 4000, unit: 'frames/s' },
      playbackRate: { value: 25, unit: 'frames/s' },
      exposure: { value: 50, unit: 'us' },
      exposureCriterion: 'anyPartOfExposure',
      trimMeaning: 'undecided',
    },
    confused: { captureRate: { value: 25, unit: 'frames/s' }, playbackRate: { value: 25, unit: 'frames/s' } },
  },
  cues: {
    house: {
      mass: { value: 19, unit: 'oz' },
      tipRadius: 'nickel',
      shaftRadius: { value: 6.3, unit: 'mm' },
      tipDiameter: { value: 13, unit: 'mm' },
    },
  },
  tables: { club: { discipline: 'pool', ballDiameter: { value: 57.15, unit: 'mm' } } },
} as const;

/** Builds the service and registers everything that tests need. */
export async function startService(database: OpenDatabase, options: Partial<AppOptions> = {}): Promise<Service> {
  const app = await buildApp({ database, ...options });
  await ensureFirstCurator(database.db, { given: curatorToken, directory: null });
  const tokens: Record<Exclude<TestRole, 'none'>, string> = {
    curator: curatorToken,
    lead: '',
    contributor: '',
    reader: '',
  };

  const ask: Service['ask'] = async (role, method, url, body, type) => {
    const token = typeof role === 'object' ? role.token : role === 'none' ? undefined : tokens[role];
    const request: InjectOptions = {
      method: method as NonNullable<InjectOptions['method']>,
      url,
      headers: {
        ...(token === undefined ? {} : { authorization: `Bearer ${token}` }),
        ...(body === undefined ? {} : { 'content-type': type ?? 'application/json' }),
      },
      ...(body === undefined
        ? {}
        : { payload: typeof body === 'string' || Buffer.isBuffer(body) ? body : JSON.stringify(body) }),
    };
    const answer = await app.inject(request);
    const isJson = String(answer.headers['content-type'] ?? '').includes('json');
    return {
      status: answer.statusCode,
      headers: answer.headers,
      text: answer.body,
      json: isJson ? answer.json() : null,
    };
  };

  const made = await ask('curator', 'POST', '/v1/labs', {
    slug: lab,
    title: 'Invented test bench',
    dataLicence: 'CC-BY-4.0',
    consentReference: 'invented consent form 1',
  });
  // A second service over the same database finds its lab already there.
  if (made.status !== 201 && made.status !== 409) throw new Error(`lab: ${made.text}`);
  for (const role of ['lead', 'contributor'] as const) {
    tokens[role] = (await ask('curator', 'POST', `/v1/labs/${lab}/tokens`, { role, note: 'test' })).json.token;
  }
  tokens.reader = (await ask('curator', 'POST', '/v1/tokens', { role: 'reader', note: 'test' })).json.token;
  if (made.status === 201) {
    for (const [kind, pieces] of Object.entries(gear)) {
      for (const [name, content] of Object.entries(pieces)) {
        const answer = await ask('lead', 'POST', `/v1/labs/${lab}/${kind}`, { name, content });
        if (answer.status !== 201) throw new Error(`${kind} ${name}: ${answer.text}`);
      }
    }
  }
  return { app, tokens, ask };
}

/** An invented shot that every check accepts: 3 m/s, 20 m/s2, 5 contact frames, below centre. */
export function validShot(label: string, change: Partial<ShotInput> = {}, speed = 3, acceleration = 20): ShotInput {
  const points = 240;
  const rate = 4000;
  const closedFrame = points - 20;
  let noise = 12345 + label.length * 7919;
  for (const character of label) noise = (noise * 31 + (character.codePointAt(0) ?? 0)) % 2147483647;
  const positions = Array.from({ length: points }, (_, frame) => {
    const t = (frame - (closedFrame - 0.5)) / rate;
    noise = (noise * 16807) % 2147483647;
    const before = speed * t + 0.5 * acceleration * t * t;
    const after = 0.6 * speed * t;
    return Math.round((1000 * (t <= 0 ? before : after) + 0.04 * (noise / 2147483647 - 0.5)) * 10_000) / 10_000;
  });
  return {
    label,
    rig: 'main',
    cue: 'house',
    table: 'club',
    player: 'P1',
    sessionDate: '2026-03-02',
    strokeStyle: 'long',
    cueTrack: { unit: 'mm', positions, firstFrame: 0 },
    contact: { closedFrame, openFrame: closedFrame + 6, trimmedStart: 1, trimmedEnd: 0 },
    tipHeight: { method: 'shaftTopEdge', topEdge: { value: -4, unit: 'mm' } },
    objectBallDistance: { value: 0.8, unit: 'm' },
    outcome: { distance: { value: -20, unit: 'cm' }, ended: 'atRest' },
    shared: true,
    ...change,
  };
}
