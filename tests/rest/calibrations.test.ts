/** A lab sends a series, gets friction with its budget, and the table has a new version that shots may adopt. */
import { afterAll, beforeAll, expect, it } from 'vitest';
import { onEachDatabase } from '../harness/service-database.ts';
import { lab, type Service, startService, validShot } from './service.ts';

const address = `/v1/labs/${lab}/tables/club/calibrations`;
const gravity = 9.80665;
const rollOuts = [0.62, 0.7, 0.81].map((value) => ({
  speed: { value, unit: 'm/s' },
  distance: { value: (100 * value * value) / (2 * 0.01 * gravity), unit: 'cm' },
  distanceUncertainty: { value: 3, unit: 'mm' },
}));
const stopShots = [2.4, 2.6].map((value) => ({
  ballSpeed: { value, unit: 'm/s' },
  tipOffset: { value: -0.3, unit: 'R' },
  distance: { value: (value * value * 0.24) / (0.2 * gravity), unit: 'm' },
}));

onEachDatabase((open) => {
  let service: Service;
  const post = (body: object, query = '') => service.ask('lead', 'POST', `${address}${query}`, body);
  const versions = async () =>
    (await service.ask('lead', 'GET', `/v1/labs/${lab}/tables/club`)).json.versions.map(
      ({ version }: { version: number }) => version,
    );
  beforeAll(async () => {
    service = await startService(open());
    const shots = [validShot('c-1'), validShot('c-2', { shared: false }, 2.4)];
    const sent = await service.ask('contributor', 'POST', `/v1/labs/${lab}/submissions`, { shots });
    expect(sent.status, sent.text).toBe(201);
  });
  afterAll(() => service.app.close());

  it('a first series must give both frictions, or state the other', async () => {
    const refused = await post({ series: { rollOuts } });
    expect(refused.status).toBe(422);
    expect(refused.json.errors.map(({ pointer }: { pointer: string }) => pointer)).toEqual(['/slidingFriction']);
    const empty = await post({ series: {} });
    expect(empty.json.errors[0]).toMatchObject({ pointer: '/series', found: 'no shots' });
    const both = await post({
      series: { rollOuts, stopShots },
      slidingFriction: { value: 0.2, standardUncertainty: 0 },
    });
    expect(both.json.errors[0]).toMatchObject({ pointer: '/slidingFriction' });
    expect(await versions()).toEqual([1]);
  });

  it('a dry run computes and keeps nothing', async () => {
    const tried = await post({ series: { rollOuts, stopShots } }, '?dryRun=true');
    expect(tried.status, tried.text).toBe(200);
    expect(tried.json).toMatchObject({ version: null, createdAt: null, usedBy: { shots: 0, judged: 0 } });
    expect(await versions()).toEqual([1]);
  });

  it('gives friction with its budget and keeps it with the series as the next version of the table', async () => {
    const made = await post({ series: { rollOuts, stopShots } });
    expect(made.status, made.text).toBe(201);
    const { version, calibration, slidingFriction, rollingResistance } = made.json;
    expect(version).toBe(2);
    expect(rollingResistance.value).toBeCloseTo(0.01, 6);
    expect(rollingResistance.budget.map(({ input }: { input: string }) => input)).toEqual([
      '3 roll-outs',
      'scale and rate of the speeds',
    ]);
    expect(slidingFriction.value).toBeGreaterThan(0.17);
    expect(calibration.slidingFriction.value).toBe(slidingFriction.value);
    expect(calibration).toMatchObject({
      method: 'rollOutAndStopShots',
      rollingResistance: { definition: 'deceleration' },
    });
    expect(calibration.series.rollOuts[0].distance.unit).toBe('cm');
    const [newest] = (await service.ask('lead', 'GET', `/v1/labs/${lab}/tables/club`)).json.versions;
    expect(newest.content).toMatchObject({ discipline: 'pool', calibration });
  });

  it('shows where each calibration is used, to each reader as far as it sees the shots', async () => {
    const adoption = { from: 1, to: 2, reason: 'calibrated afterwards' };
    const adopted = await service.ask('lead', 'POST', `/v1/labs/${lab}/tables/club/adoptions`, adoption);
    expect(adopted.status, adopted.text).toBe(201);
    const uses = async (role: 'lead' | 'reader') =>
      (await service.ask(role, 'GET', address)).json.calibrations.map(
        ({ version, usedBy }: { version: number; usedBy: object }) => ({ version, ...usedBy }),
      );
    expect(await uses('lead')).toEqual([{ version: 2, shots: 2, judged: 2 }]);
    expect(await uses('reader')).toEqual([{ version: 2, shots: 1, judged: 1 }]);
  });

  it('a later series replaces what it gives and keeps the rest', async () => {
    const before = (await service.ask('lead', 'GET', address)).json.calibrations[0].calibration;
    const again = await post({ series: { rollOuts: rollOuts.slice(1) }, note: 'cloth brushed' });
    expect(again.json).toMatchObject({ version: 3, slidingFriction: null, calibration: { method: 'rollOut' } });
    expect(again.json.calibration.slidingFriction).toEqual(before.slidingFriction);
    const listed = (await service.ask('lead', 'GET', address)).json.calibrations;
    expect(listed.map(({ version }: { version: number }) => version)).toEqual([3, 2]);
    expect(listed[0]).toMatchObject({ usedBy: { shots: 0 }, slidingFriction: null });
  });

  it('a table version that states other values than its series gives is refused', async () => {
    const { content } = (await service.ask('lead', 'GET', `/v1/labs/${lab}/tables/club`)).json.versions[0];
    const versionsAddress = `/v1/labs/${lab}/tables/club/versions`;
    const moved = {
      ...content,
      calibration: {
        ...content.calibration,
        rollingResistance: { value: 0.02, standardUncertainty: 0.001, definition: 'deceleration' },
      },
    };
    const refused = await service.ask('lead', 'POST', versionsAddress, { content: moved });
    expect(refused.json.errors[0]).toMatchObject({ pointer: '/content/calibration/rollingResistance' });
    const kept = await service.ask('lead', 'POST', versionsAddress, { content: { ...content, cloth: 'worsted' } });
    expect(kept.status, kept.text).toBe(201);
  });

  it('is for leads of the lab', async () => {
    for (const role of ['contributor', 'reader', 'curator'] as const) {
      expect((await service.ask(role, 'POST', address, { series: { rollOuts } })).json.code).toBe('forbidden');
    }
    const nothing = await service.ask('lead', 'POST', `/v1/labs/${lab}/tables/none/calibrations`, {
      series: { rollOuts },
    });
    expect(nothing.json.code).toBe('not-found');
  });
});
