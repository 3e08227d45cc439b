/** The real change from method version 1 to 2, on a server that was started with version 1 alone before. */
import { setTimeout } from 'node:timers/promises';
import { eq } from 'drizzle-orm';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { newestMethod, publishedMethods } from '../../src/derivation/methods.ts';
import { verifyBundle } from '../../src/releases/verify-bundle.ts';
import { serverState } from '../../src/store/schema.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

const onlyFirst = new Map([...publishedMethods].slice(0, 1));

/** The same stroke with 50 frames before contact: too few for the track to show that its intervals hold. */
function shortShot(label: string) {
  const shot = validShot(label);
  const positions = shot.cueTrack?.positions ?? [];
  return { ...shot, cueTrack: { unit: 'mm', positions: positions.slice(-70), firstFrame: positions.length - 70 } };
}

onEachDatabase((open) => {
  let service: Service;
  let ids: Record<string, string>;

  beforeAll(async () => {
    const { db } = open();
    expect((await db.select().from(serverState))[0]?.activeMethod).toBe(newestMethod(publishedMethods));
    await db.update(serverState).set({ activeMethod: '1' }).where(eq(serverState.id, 1));
    const old = await startService(open(), { methods: onlyFirst });
    const shots = [validShot('long'), shortShot('short')];
    const sent = await old.ask('contributor', 'POST', `/v1/labs/${lab}/submissions`, { shots });
    expect(sent.status, sent.text).toBe(201);
    await old.ask('curator', 'POST', '/v1/datasets', { slug: 'all', title: 'All shots', licence: 'CC-BY-4.0' });
    const frozen = await old.ask('curator', 'POST', '/v1/datasets/all/releases', {});
    expect(frozen.status, frozen.text).toBe(201);
    await old.app.close();
    service = await startService(open());
    const listed = await service.ask('reader', 'GET', '/v1/shots');
    ids = Object.fromEntries(listed.json.shots.map(({ label, id }: { label: string; id: string }) => [label, id]));
  });
  afterAll(() => service.app.close());

  const derivedOf = async (label: string) =>
    (await service.ask('reader', 'GET', `/v1/shots/${ids[label]}`)).json.derived;

  it('starts with version 1 active, and takes uploads under both', async () => {
    expect((await derivedOf('long')).methodVersion).toBe('1');
    const sent = await service.ask('contributor', 'POST', `/v1/labs/${lab}/submissions`, validShot('later'));
    expect(sent.status, sent.text).toBe(201);
    const listed = await service.ask('reader', 'GET', '/v1/shots');
    ids = Object.fromEntries(listed.json.shots.map(({ label, id }: { label: string; id: string }) => [label, id]));
    expect((await derivedOf('later')).methodVersion).toBe('1');
    const beside = await service.ask('reader', 'GET', `/v1/shots/${ids.later}/derivation?method=2`);
    expect(beside.json.methodVersion).toBe('2');
  });

  it('derives what is there under version 2, says which flags change, and activates it', async () => {
    const started = await service.ask('curator', 'POST', '/v1/recomputations');
    expect(started.json).toMatchObject({ fromMethod: '1', toMethod: '2' });
    const address = String(started.headers.location);
    let state = started.json;
    for (let tries = 0; state.state === 'deriving' && tries < 200; tries += 1) {
      await setTimeout(20);
      state = (await service.ask('curator', 'GET', address)).json;
    }
    expect(state).toMatchObject({ state: 'derived', total: 3, done: 3, refused: 0 });
    expect(state.changes.flagsChanged).toBe(1);
    for (const { quantity, changed } of state.changes.quantities) {
      if (quantity === 'cueSpeed' || quantity === 'cueAcceleration') expect(changed).toBe(0);
    }
    const before = await derivedOf('short');
    expect((await service.ask('curator', 'POST', `${address}/activation`)).json.state).toBe('activated');
    const after = await derivedOf('short');
    expect(after.methodVersion).toBe('2');
    expect(after.cueSpeed).toEqual(before.cueSpeed);
    expect(after.flags.filter((flag: string) => !before.flags.includes(flag))).toEqual(['intervalNotAssured']);
    expect((await derivedOf('long')).flags).not.toContain('intervalNotAssured');
  });

  it('leaves the release of before its method: it verifies under version 1', async () => {
    const bundle = await service.app.inject({
      url: '/v1/releases/all@1/bundle.zip',
      headers: { authorization: `Bearer ${service.tokens.reader}` },
    });
    expect(bundle.statusCode).toBe(200);
    const report = verifyBundle(new Uint8Array(bundle.rawPayload));
    expect(report).toMatchObject({ outcome: 'verified', methodVersion: '1', shots: 2 });
  });
});
