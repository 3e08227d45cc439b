import { eq, sql } from 'drizzle-orm';
import { beforeAll, expect, test } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import { addGearVersion, createGear, getGear, listGear, loadGearBook } from '../../src/access/gear.ts';
import { anonymous, type Principal } from '../../src/access/principal.ts';
import { hotShot, lab, rig, shot } from '../../src/store/schema.ts';
import { makeCurator, makeLab, makePrincipal, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';

async function refusalOf(work: Promise<unknown>): Promise<Refusal> {
  try {
    await work;
  } catch (error) {
    if (error instanceof Refusal) return error;
    throw error;
  }
  throw new Error('nothing was refused');
}

const rigContent = (rate: number) => ({ captureRate: { value: rate, unit: 'fps' } });

onEachDatabase((open) => {
  let north: TestLab;
  let south: TestLab;
  let reader: Principal;
  const db = () => open().db;
  const north_ = () => [db(), north.lead, 'north', 'rigs'] as const;

  beforeAll(async () => {
    const curator = await makeCurator(db());
    north = await makeLab(db(), curator, 'north');
    south = await makeLab(db(), curator, 'south');
    reader = await makePrincipal(db(), curator, 'reader');
    await createGear(...north_(), 'main', rigContent(4000));
    await addGearVersion(...north_(), 'main', rigContent(4001));
    await createGear(...north_(), 'side', rigContent(240));
  });

  test('a first version is 1, the next is 2, and both stay as they were', async () => {
    const versions = await getGear(...north_(), 'main');
    expect(versions.map(({ version, content }) => [version, content])).toMatchObject([
      [2, { captureRate: { value: 4001, unit: '1/s' } }],
      [1, { captureRate: { value: 4000, unit: '1/s' } }],
    ]);
    expect(versions[0]).toMatchObject({ lab: 'north', name: 'main' });
  });

  test('the database refuses to change a version behind the back of the service', async () => {
    const change = db()
      .update(rig)
      .set({ content: rigContent(1) })
      .where(eq(rig.name, 'main'));
    await expect(change).rejects.toMatchObject({ cause: { code: '23000', constraint: 'rig_immutable' } });
  });

  test('a taken name, a missing one, a bad one and bad content are refused and leave nothing behind', async () => {
    expect((await refusalOf(createGear(...north_(), 'main', rigContent(1000)))).code).toBe('name-taken');
    expect((await refusalOf(addGearVersion(...north_(), 'other', rigContent(1000)))).code).toBe('not-found');
    expect((await refusalOf(createGear(...north_(), 'Main Rig', rigContent(1000)))).faults).toMatchObject([
      { code: 'structure-invalid', pointer: '/name', found: 'Main Rig' },
    ]);
    const refusal = await refusalOf(createGear(...north_(), 'fast', { captureRate: { value: 4, unit: 'kg' } }));
    expect(refusal.code).toBe('request-invalid');
    expect(refusal.faults).toMatchObject([{ code: 'unit-dimension', pointer: '/content/captureRate/unit' }]);
    expect((await listGear(...north_())).map(({ name }) => name)).toEqual(['main', 'main', 'side']);
  });

  test('only the lead of the lab changes its gear', async () => {
    for (const principal of [north.contributor, south.lead, reader, anonymous]) {
      const refusal = await refusalOf(createGear(db(), principal, 'north', 'cues', 'house', {}));
      expect(refusal.code).toBe(principal === anonymous ? 'unauthenticated' : 'forbidden');
    }
  });

  test('versions added at once are numbered one after the other', async () => {
    await createGear(db(), north.lead, 'north', 'cues', 'club', {});
    const made = await Promise.all([1, 2, 3].map(() => addGearVersion(db(), north.lead, 'north', 'cues', 'club', {})));
    expect(made.map(({ version }) => version).toSorted((a, b) => a - b)).toEqual([2, 3, 4]);
  });

  test('the version of the lab moves with its gear, the version of what is shared does not', async () => {
    const versions = () =>
      db().select({ version: lab.version, shared: lab.sharedVersion }).from(lab).where(eq(lab.slug, 'south'));
    expect(await versions()).toEqual([{ version: 0, shared: 0 }]);
    await createGear(db(), south.lead, 'south', 'tables', 'club', { discipline: 'pool' });
    expect(await versions()).toEqual([{ version: 1, shared: 0 }]);
  });

  test('a gear book resolves a name to its newest version and name@version to that one', async () => {
    const book = await loadGearBook(db(), north.id);
    expect(book.resolve('rigs', 'main')).toMatchObject({ version: 2, content: { captureRate: { value: 4001 } } });
    const first = book.resolve('rigs', 'main@1');
    expect(first).toMatchObject({ name: 'main', version: 1, content: { captureRate: { value: 4000 } } });
    expect(book.byId('rigs', Number(first?.id))).toEqual(first);
    expect(book.resolve('rigs', 'main@9')).toBeNull();
    expect(book.resolve('cues', 'main')).toBeNull();
    expect(book.names('rigs')).toEqual(['main', 'side']);
  });

  test('a gear book holds the gear of its own lab only', async () => {
    const book = await loadGearBook(db(), south.id);
    expect(book.resolve('rigs', 'main')).toBeNull();
    expect(book.resolve('tables', 'club')).toMatchObject({ version: 1, content: { discipline: 'pool' } });
  });

  test('others see a version of gear once a shared shot was made with it', async () => {
    const seen = async (principal: Principal) =>
      (await listGear(db(), principal, 'north', 'rigs')).map(({ name, version }) => `${name}@${version}`);
    expect(await seen(north.contributor)).toEqual(['main@2', 'main@1', 'side@1']);
    expect(await seen(reader)).toEqual([]);
    expect((await refusalOf(getGear(db(), reader, 'north', 'rigs', 'main'))).code).toBe('not-found');

    const rigId = (await loadGearBook(db(), north.id)).resolve('rigs', 'main@1')?.id ?? 0;
    const [made] = await db().insert(shot).values({ labId: north.id, label: 'S1', ordinal: 1 }).returning();
    const values = {
      labId: north.id,
      ordinal: 1,
      shotId: String(made?.id),
      revisionId: 1,
      label: 'S1',
      shared: false,
      receivedAt: new Date(),
      source: 0,
      flags: 0,
      rigId,
      straight: true,
    };
    await db().insert(hotShot).values(values);
    expect(await seen(reader)).toEqual([]);
    await db().update(hotShot).set({ shared: true }).where(sql`${hotShot.labId} = ${north.id}`);
    for (const principal of [reader, south.lead, anonymous]) expect(await seen(principal)).toEqual(['main@1']);
  });
});
