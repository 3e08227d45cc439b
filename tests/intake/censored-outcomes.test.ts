/** Outcomes that rails do not censor, as variables: from the derivation, and the same by the migration that made them. */
import { sql } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import type { endings } from '../../shared/shot.ts';
import { listShots } from '../../src/intake/shots.ts';
import { earlyOutcomeDistance, outcomeClass } from '../../src/pooling/censored-outcomes.ts';
import { loadLiveColumns } from '../../src/pooling/load-columns.ts';
import { readMigrationFiles } from '../../src/store/migration-files.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { goodShot, registerGear, send } from './invented.ts';

const outcome = (value: number, ended: (typeof endings)[number]) => ({
  outcome: { distance: { value, unit: 'cm' }, ended },
});

onEachDatabase((open) => {
  const db = () => open().db;
  let north: TestLab;
  const classes = async () => {
    const { variables, labels } = await loadLiveColumns(db(), 'lab:north');
    return new Map(
      labels.map((label, row) => [label, [variables.outcomeClass[row], variables.earlyOutcomeDistance[row]]]),
    );
  };
  beforeAll(async () => {
    north = await makeLab(db(), await makeCurator(db()), 'north');
    await registerGear(db(), north.lead, 'north');
    await send(db(), north, [
      goodShot('draw', outcome(-40, 'atRest')),
      goodShot('stop', outcome(2, 'atRest')),
      goodShot('follow', outcome(30, 'atRest')),
      goodShot('railed', outcome(-80, 'cushion')),
      goodShot('stopped', outcome(1, 'stoppedByHand')),
    ]);
  });

  it('a class is known at rest, and beyond the stop band also where a rail ended the outcome', async () => {
    const found = await classes();
    const classOf = (label: string) => found.get(label)?.[0];
    expect(['draw', 'stop', 'follow', 'railed'].map(classOf)).toEqual([-1, 0, 1, -1]);
    // Held by hand after a centimetre: it might have gone on.
    expect(classOf('stopped')).toBeNaN();
  });

  it('the migration fills them in as the server computes them', async () => {
    const { shots } = await listShots(db(), north.lead, { lab: 'north', limit: 100 });
    const made = {
      read: true,
      ended: 'cushion',
      outcomeOverTime: [0, 0.3, 0.6, 0.9].map((time) => ({ time, distance: -0.7 * time })),
    };
    // A derivation never changes; here one is made up for the arithmetic.
    await db().execute(sql`alter table derivation disable trigger derivation_immutable`);
    await db().execute(
      sql`update derivation set derived = jsonb_set(derived::jsonb, '{ball}', ${JSON.stringify(made)}::jsonb)::json`,
    );
    await db().execute(sql`alter table derivation enable trigger derivation_immutable`);
    await db().execute(sql`update hot_shot set outcome_class = null, early_outcome_distance = null`);
    const file = readMigrationFiles('migrations').find(({ name }) => name.includes('outcome_class'));
    await db().execute(sql.raw(file?.statements.at(-1) as string));
    const found = await classes();
    for (const { label, derived } of shots) {
      const withTrack = { ...derived, ball: made } as unknown as typeof derived;
      const early = earlyOutcomeDistance(withTrack) as number;
      expect(early).toBeCloseTo(-0.35, 12);
      expect(found.get(label)).toEqual([outcomeClass(derived) ?? Number.NaN, early]);
    }
  });
});

it('the distance after half a second is that of a ball at rest when it had come to rest before, and unknown beyond the film', () => {
  const ball = (ended: string, times: readonly number[]) =>
    ({
      ball: { read: true, ended, outcomeOverTime: times.map((time) => ({ time, distance: time })) },
    }) as unknown as Parameters<typeof earlyOutcomeDistance>[0];
  expect(earlyOutcomeDistance(ball('atRest', [0, 0.2, 0.4]))).toBe(0.4);
  expect(earlyOutcomeDistance(ball('cushion', [0, 0.2, 0.4]))).toBeNull();
  expect(earlyOutcomeDistance(ball('cushion', [0, 0.5, 1]))).toBe(0.5);
  expect(earlyOutcomeDistance({ ball: null } as Parameters<typeof earlyOutcomeDistance>[0])).toBeNull();
});
