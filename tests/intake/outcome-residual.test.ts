/** The outcome residual as a variable: filled where the lab calibrated its table, and by the migration that made it. */
import { and, eq, isNotNull, sql } from 'drizzle-orm';
import { beforeAll, expect, it } from 'vitest';
import { regressionSpecificationSchema } from '../../shared/regression.ts';
import { createGear } from '../../src/access/gear.ts';
import { listShots } from '../../src/intake/shots.ts';
import { askRegression } from '../../src/pooling/ask-regression.ts';
import { loadLiveColumns } from '../../src/pooling/load-columns.ts';
import { readMigrationFiles } from '../../src/store/migration-files.ts';
import { hotShot } from '../../src/store/schema.ts';
import { makeCurator, makeLab, type TestLab } from '../harness/actors.ts';
import { onEachDatabase } from '../harness/service-database.ts';
import { gearContent, goodShot, registerGear, send } from './invented.ts';

const calibration = {
  method: 'rollOut',
  slidingFriction: { value: 0.2, standardUncertainty: 0.01 },
  rollingResistance: { value: 0.01, standardUncertainty: 0.0005, definition: 'deceleration' },
} as const;

onEachDatabase((open) => {
  const db = () => open().db;
  let north: TestLab;
  beforeAll(async () => {
    north = await makeLab(db(), await makeCurator(db()), 'north');
    await registerGear(db(), north.lead, 'north');
    await createGear(db(), north.lead, 'north', 'tables', 'measured', { ...gearContent.tables.club, calibration });
    const heights = [-5, -6.5, -7, -8, -8.5, -9, -10, -10.5];
    const shots = heights.map((value, index) =>
      goodShot(`c-${index}`, {
        table: 'measured',
        shared: true,
        tipHeight: { method: 'contactMark', height: { value, unit: 'mm' } },
        outcome: { distance: { value: 20 + 7 * value, unit: 'cm' }, ended: 'atRest' },
      }),
    );
    const railed = goodShot('railed', {
      table: 'measured',
      outcome: { distance: { value: -30, unit: 'cm' }, ended: 'cushion' },
    });
    await send(db(), north, [...shots, railed, goodShot('uncalibrated')]);
  });

  it('is measured minus expected, by constant restitution, on a calibrated table and nowhere else', async () => {
    const { shots } = await listShots(db(), north.lead, { lab: 'north', limit: 100 });
    const expected = new Map(
      shots.map(({ label, derived }) => [
        label,
        derived.expected.models.find(({ model }) => model === 'constantRestitution')?.residual ?? null,
      ]),
    );
    const columns = await loadLiveColumns(db(), 'lab:north');
    for (const [row, label] of columns.labels.entries()) {
      const residual = expected.get(label) ?? null;
      expect(columns.variables.outcomeResidual[row]).toBe(residual?.value ?? Number.NaN);
      expect(columns.uncertainties.outcomeResidual[row]).toBe(residual?.standardUncertainty ?? Number.NaN);
    }
    expect([...expected].filter(([, residual]) => residual === null).map(([label]) => label)).toEqual([
      'railed',
      'uncalibrated',
    ]);
  });

  it('may be asked for: residual against cue acceleration', async () => {
    const specification = regressionSpecificationSchema.parse({
      response: 'outcomeResidual',
      terms: [[{ variable: 'cueAcceleration' }]],
      scope: 'lab:north',
    });
    const { result } = await askRegression(db(), north.contributor, specification);
    expect(result.labs.reduce((sum, { shots }) => sum + shots, 0)).toBe(8);
  });

  it('is filled to the last bit by its migration from what was derived before', async () => {
    const kept = () =>
      db()
        .select({ ordinal: hotShot.ordinal, value: hotShot.outcomeResidual, u: hotShot.uOutcomeResidual })
        .from(hotShot)
        .where(and(eq(hotShot.labId, north.id), isNotNull(hotShot.outcomeResidual)))
        .orderBy(hotShot.ordinal);
    const before = await kept();
    expect(before).toHaveLength(8);
    await db().execute(sql`update hot_shot set outcome_residual = null, u_outcome_residual = null`);
    const file = readMigrationFiles('migrations').find(({ name }) => name.includes('outcome_residual'));
    const fill = file?.statements.find((statement) => statement.includes('update hot_shot')) ?? '';
    // The migration found the column as it was then.
    await db().execute(sql`alter table derivation alter column derived type jsonb using derived::jsonb`);
    await db().execute(sql.raw(fill));
    await db().execute(sql`alter table derivation alter column derived type json using derived::json`);
    expect(await kept()).toEqual(before);
  });
});
