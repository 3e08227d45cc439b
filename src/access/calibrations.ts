/** Calibrations of a table by a lab's own series: each is a new version of the table, with the series in it. */
import { and, desc, eq, isNotNull, sql } from 'drizzle-orm';
import { fault } from '../../shared/fault.ts';
import { type TableCalibration, type TableContent, tableCalibrationSchema } from '../../shared/gear.ts';
import type { Fault } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { CalibratedFriction, CalibrationInput, TableCalibrationRecord } from '../../shared/table-calibration.ts';
import { type CalibratedTable, calibrateTable } from '../derivation/calibrate-table.ts';
import { ballsOf } from '../derivation/expectation-inputs.ts';
import type { Database } from '../store/database.ts';
import { hotShot, tableSetup } from '../store/schema.ts';
import { addGearVersion, getGear } from './gear.ts';
import { requireLab } from './labs.ts';
import { permit } from './permissions.ts';
import type { Principal } from './principal.ts';
import { sightOf, visibleWhere } from './visibility.ts';

const unused = { shots: 0, judged: 0 } as const;

/**
 * Computes friction from a series and keeps both as the next version of the table.
 * @param dryRun computes only
 * @throws Refusal 'forbidden', 'not-found', 'request-invalid' with the faults of the series
 */
export async function calibrate(
  db: Database,
  principal: Principal,
  lab: string,
  name: string,
  input: CalibrationInput,
  dryRun: boolean,
): Promise<TableCalibrationRecord> {
  permit(principal, 'changeGear', lab);
  const [newest] = await getGear(db, principal, lab, 'tables', name);
  // Checked under the same schema when it was kept.
  const table = newest?.content as TableContent;
  const { calibration, found } = calibrationOf(input, table);
  const made = dryRun
    ? null
    : await addGearVersion(db, principal, lab, 'tables', name, { ...table, calibration }, newest?.version);
  const { slidingFriction, rollingResistance } = found;
  const kept = { version: made?.version ?? null, createdAt: made?.createdAt ?? null };
  return { lab, name, ...kept, calibration, slidingFriction, rollingResistance, usedBy: unused };
}

/**
 * The calibrated versions of a table, newest first, each with what its series gives and how many shots rest on it.
 * @throws Refusal 'not-found'
 */
export async function listCalibrations(
  db: Database,
  principal: Principal,
  lab: string,
  name: string,
): Promise<TableCalibrationRecord[]> {
  const versions = await getGear(db, principal, lab, 'tables', name);
  const uses = await usesOf(db, principal, lab, name);
  return versions.flatMap(({ version, createdAt, content }) => {
    const table = content as TableContent;
    const { calibration } = table;
    if (calibration === undefined) return [];
    const { slidingFriction, rollingResistance } = resultsOf(calibration, table);
    const usedBy = uses.get(version) ?? unused;
    return [{ lab, name, version, createdAt, calibration, slidingFriction, rollingResistance, usedBy }];
  });
}

function resultsOf(calibration: TableCalibration, table: TableContent): CalibratedTable {
  const { series } = calibration;
  if (series === undefined) return { slidingFriction: null, rollingResistance: null, faults: [] };
  return calibrateTable(series, table, ballsOf(calibration), '/calibration/series');
}

function calibrationOf(
  input: CalibrationInput,
  table: TableContent,
): { readonly calibration: TableCalibration; readonly found: CalibratedTable } {
  const before = table.calibration;
  const { series, note } = input;
  const balls = {
    ballRestitution: input.ballRestitution ?? before?.ballRestitution,
    ballFriction: input.ballFriction ?? before?.ballFriction,
  };
  const found = calibrateTable(series, table, ballsOf(balls), '/series');
  const [rolled, stopped] = [series.rollOuts.length > 0, series.stopShots.length > 0];
  const slidingFriction = measuredOf(found.slidingFriction) ?? input.slidingFriction ?? before?.slidingFriction;
  const rolling = measuredOf(found.rollingResistance);
  const rollingResistance =
    rolling === null
      ? (input.rollingResistance ?? before?.rollingResistance)
      : ({ ...rolling, definition: 'deceleration' } as const);
  const faults: Fault[] = [
    ...found.faults,
    ...(rolled || stopped ? [] : [fault('structure-invalid', '/series', 'no shots', 'roll-outs, stop shots or both')]),
    ...twice(stopped, 'slidingFriction', input.slidingFriction, 'stop shots'),
    ...twice(rolled, 'rollingResistance', input.rollingResistance, 'roll-outs'),
    ...lacking(stopped, 'slidingFriction', slidingFriction, 'stop shots'),
    ...lacking(rolled, 'rollingResistance', rollingResistance, 'roll-outs'),
  ];
  const method = rolled && stopped ? 'rollOutAndStopShots' : rolled ? 'rollOut' : 'stopShots';
  const optional = Object.entries({ ...balls, note }).filter(([, value]) => value !== undefined);
  const all = { method, slidingFriction, rollingResistance, ...Object.fromEntries(optional), series };
  const checked = tableCalibrationSchema.safeParse(all);
  if (faults.length === 0 && !checked.success) {
    for (const { path, message } of checked.error.issues) {
      const place = String(path[0] ?? '');
      faults.push(fault('limit-exceeded', `/${place}`, all[place as keyof typeof all], message));
    }
  }
  if (!checked.success || faults.length > 0) {
    throw new Refusal('request-invalid', 'The series does not calibrate the table.', { faults });
  }
  return { calibration: checked.data, found };
}

function measuredOf(found: CalibratedFriction | null): { value: number; standardUncertainty: number } | null {
  return found === null ? null : { value: found.value, standardUncertainty: found.standardUncertainty };
}

function twice(inSeries: boolean, name: string, stated: unknown, shots: string): Fault[] {
  if (!inSeries || stated === undefined) return [];
  return [fault('structure-invalid', `/${name}`, stated, `nothing: the ${shots} give it`)];
}

function lacking(inSeries: boolean, name: string, value: unknown, shots: string): Fault[] {
  if (inSeries || value !== undefined) return [];
  const expected = `a value with its standard uncertainty, or ${shots}: the table has none yet`;
  return [fault('structure-invalid', `/${name}`, undefined, expected)];
}

/** Current shots that the principal may see, by version of the table. */
async function usesOf(
  db: Database,
  principal: Principal,
  labSlug: string,
  name: string,
): Promise<ReadonlyMap<number, { readonly shots: number; readonly judged: number }>> {
  const { id: labId } = await requireLab(db, labSlug);
  const rows = await db
    .select({
      version: tableSetup.version,
      shots: sql<number>`count(*)::int`,
      judged: sql<number>`count(${hotShot.outcomeResidual})::int`,
    })
    .from(hotShot)
    .innerJoin(tableSetup, eq(tableSetup.id, hotShot.tableId))
    .where(
      and(
        eq(tableSetup.labId, labId),
        eq(tableSetup.name, name),
        isNotNull(hotShot.tableId),
        visibleWhere(sightOf(principal), hotShot),
      ),
    )
    .groupBy(tableSetup.version)
    .orderBy(desc(tableSetup.version));
  return new Map(rows.map(({ version, shots, judged }) => [version, { shots, judged }]));
}
