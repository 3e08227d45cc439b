/** What a whole submission shows: readings that cannot all be what the rig says. */
import { beforeAll, expect, it } from 'vitest';
import type { ShotInput } from '../../shared/shot.ts';
import { getReceipt } from '../../src/intake/receipts.ts';
import type { Database } from '../../src/store/database.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, registerGear, send } from './invented.ts';

onEachDatabase((open) => {
  let db: Database;
  let north: TestLab;
  let round = 0;
  beforeAll(async () => {
    db = open().db;
    north = await makeLab(db, await makeCurator(db), 'north');
    await registerGear(db, north.lead, 'north');
  });

  /** Shots with these heights of the contact (mm) and outcome distances (cm). */
  const remarks = async (
    pairs: readonly (readonly [number, number])[],
    change: Partial<ShotInput> = {},
    dry = false,
  ) => {
    round += 1;
    const shots = pairs.map(([height, distance], index) =>
      goodShot(`${round}/${index}`, {
        tipHeight: { method: 'contactMark', height: { value: height, unit: 'mm' } },
        outcome: { distance: { value: distance, unit: 'cm' }, ended: 'atRest' },
        ...change,
      }),
    );
    const { receipt } = await send(db, north, shots, { dryRun: dry });
    expect((await getReceipt(db, north.lead, receipt.submission)).remarks).toEqual(receipt.remarks);
    return receipt.remarks;
  };
  /** As read from the cloth: 8 mm below the centre is 20.6 mm above it. */
  const fromCloth = [8, 9, 7, 10, 8].map((height) => [height, -31] as const);

  it('draws from above the centre are remarked, stored or as a trial', async () => {
    for (const dry of [false, true]) {
      const [remark, ...more] = await remarks([...fromCloth, [-6, -31], [0, -31]], {}, dry);
      expect(remark).toContain('In 5 of 5 shots that can tell');
      expect(remark).toContain('heightReference');
      expect(more).toEqual([]);
    }
  });
  it('follows from above, draws and follows from below and stops are not', async () => {
    expect(
      await remarks([
        [8, 40],
        [9, 30],
        [-8, -31],
        [-8, 20],
        [8, -2],
        [8, -31],
        [8, -31],
      ]),
    ).toEqual([]);
  });
  it('few of many are not, nor shots that tell nothing', async () => {
    expect(await remarks([...fromCloth.slice(0, 3), [8, 40], [8, 41], [8, 42], [8, 43]])).toEqual([]);
    expect(await remarks(fromCloth, { labFlags: ['cushionBeforeOutcome'] })).toEqual([]);
    expect(await remarks(fromCloth, { straight: false })).toEqual([]);
  });
});
