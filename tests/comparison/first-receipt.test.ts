/** A margin is prior only when it precedes the first receipt of every judged shot, in whatever way that came about. */
import { eq } from 'drizzle-orm';
import { beforeAll, expect, test } from 'vitest';
import { Refusal } from '../../shared/refusal.ts';
import type { ShotInput } from '../../shared/shot.ts';
import type { SubmissionOptions } from '../../shared/submission.ts';
import { anonymous } from '../../src/access/principal.ts';
import { askComparison } from '../../src/comparison/ask-comparison.ts';
import { declareMargin } from '../../src/comparison/margins.ts';
import { submitStream } from '../../src/intake/submit.ts';
import { withdrawShot } from '../../src/intake/withdraw.ts';
import { loadReleaseColumns } from '../../src/pooling/load-release-columns.ts';
import { createDataset } from '../../src/releases/datasets.ts';
import { freezeRelease } from '../../src/releases/freeze.ts';
import { shot } from '../../src/store/schema.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { chunked, temporaryLimits } from '../intake/invented.ts';
import { fillTwoLabs, inventedShot, send, type TwoLabs } from '../releases/two-labs.ts';
import { specify } from './made-shots.ts';

const bySign = {
  contrast: { kind: 'sign', variable: 'cueAcceleration' },
  response: 'outcomeDistance',
  match: [
    { variable: 'cueSpeed', caliper: 0.1 },
    { variable: 'tipOffset', caliper: 0.05 },
  ],
};

/** Twelve shots of one day that no other test has. */
function shotsOf(date: string, from: number, prefix = ''): ShotInput[] {
  return Array.from({ length: 12 }, (_, place) => {
    const made = inventedShot('north', from + place);
    return { ...made, label: `${prefix}${made.label}`, sessionDate: date };
  });
}

onEachDatabase((open) => {
  let labs: TwoLabs;
  const db = () => open().db;
  beforeAll(async () => {
    labs = await fillTwoLabs(db());
  });

  const declare = () =>
    declareMargin(db(), labs.north.lead, {
      variable: 'outcomeDistance',
      value: 0.1,
      reason: 'a tenth of a metre decides the next shot',
    });
  const upload = (shots: readonly ShotInput[], change: Partial<SubmissionOptions>) => {
    const query = { dryRun: false, accept: 'all' as const, revise: false, ...change };
    const text = JSON.stringify({ shots });
    return submitStream(db(), labs.north.contributor, 'north', query, 'json', chunked(text), temporaryLimits());
  };
  const judged = async (margin: string, date: string) => {
    const filter = { groups: [{ grouping: 'sessionDate', values: [date] }] };
    const asked = await askComparison(db(), anonymous, specify({ ...bySign, margin, filter }));
    const { prior, shareReceivedAfter } = asked.result.equivalence ?? {};
    return { prior, shareReceivedAfter };
  };
  const exploratory = { prior: false, shareReceivedAfter: 0 };
  const withdraw = async (labels: readonly string[]) => {
    for (const label of labels) {
      const [found] = await db().select({ id: shot.id }).from(shot).where(eq(shot.label, label));
      await withdrawShot(db(), labs.north.contributor, found?.id ?? '', 'to be sent again');
    }
  };

  test('a dry run has shown the numbers already', async () => {
    const shots = shotsOf('2026-05-01', 100);
    await upload(shots, { dryRun: true });
    const { id } = await declare();
    await send(db(), labs.north, shots);
    expect(await judged(id, '2026-05-01')).toEqual(exploratory);
  });

  test('so has an upload that was refused for one wrong shot', async () => {
    const shots = shotsOf('2026-05-02', 200);
    const wrong = { ...inventedShot('north', 299), rig: 'nothing' };
    await expect(upload([...shots, wrong], {})).rejects.toBeInstanceOf(Refusal);
    const { id } = await declare();
    await send(db(), labs.north, shots);
    expect(await judged(id, '2026-05-02')).toEqual(exploratory);
  });

  test('shots withdrawn and sent again under other labels are no new ones', async () => {
    const shots = shotsOf('2026-05-03', 300);
    await send(db(), labs.north, shots);
    const { id } = await declare();
    await withdraw(shots.map(({ label }) => label));
    await send(db(), labs.north, shotsOf('2026-05-03', 300, 'again-'));
    expect(await judged(id, '2026-05-03')).toEqual(exploratory);
  });

  test('an amendment makes an old shot no newer, and a new shot as old as the track it brings', async () => {
    const [known, other] = [shotsOf('2026-05-04', 400), shotsOf('2026-05-04', 500)];
    await upload(known, { dryRun: true });
    await send(db(), labs.north, other.slice(0, 6));
    const { id } = await declare();
    await send(db(), labs.north, other.slice(6));
    expect(await judged(id, '2026-05-04')).toEqual({ prior: false, shareReceivedAfter: 0.5 });
    const amended = other.map((one, place) => ({ ...known[place], label: one.label }) as ShotInput);
    await send(db(), labs.north, amended, { revise: true });
    expect(await judged(id, '2026-05-04')).toEqual(exploratory);
  });

  test('a release keeps the receipts of its own revisions, and shots nobody has seen stay prior', async () => {
    const { id } = await declare();
    const shots = shotsOf('2026-05-05', 600);
    await send(db(), labs.north, shots);
    expect(await judged(id, '2026-05-05')).toEqual({ prior: true, shareReceivedAfter: 1 });
    const rule = {
      ranges: [],
      groups: [{ grouping: 'sessionDate' as const, values: ['2026-05-05'] }],
      includeReported: false,
      includeFlags: [],
    };
    await createDataset(db(), labs.curator, { slug: 'day', title: 'One day', licence: 'CC0-1.0', filter: rule });
    await freezeRelease(db(), labs.curator, 'day', { analyses: [] });
    const before = (await loadReleaseColumns(db(), 'day@1')).columns.receivedAt;
    const old = shotsOf('2026-05-05', 400).map((one, place) => ({ ...one, label: shots[place]?.label ?? '' }));
    await withdraw(shotsOf('2026-05-04', 500).map(({ label }) => label));
    await send(db(), labs.north, old, { revise: true });
    expect(await judged(id, '2026-05-05')).toEqual(exploratory);
    expect((await loadReleaseColumns(db(), 'day@1')).columns.receivedAt).toEqual(before);
  });
});
