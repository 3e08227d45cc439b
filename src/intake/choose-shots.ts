/** The shots of a lab that a choice means, withdrawn ones left out. */
import { and, eq, isNull, type SQL, sql } from 'drizzle-orm';
import { fault } from '../../shared/fault.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { ShotChoice } from '../../shared/sharing.ts';
import type { Transaction } from '../store/database.ts';
import { hotShot, rig, shot } from '../store/schema.ts';

function ofRig(labId: number, reference: string): SQL {
  const [name = '', version] = reference.split('@');
  const versioned = version === undefined ? undefined : eq(rig.version, Number(version));
  return sql`${hotShot.rigId} in (select ${rig.id} from ${rig} where ${and(eq(rig.labId, labId), eq(rig.name, name), versioned)})`;
}

function condition(labId: number, choice: ShotChoice): SQL | undefined {
  if ('labels' in choice) return sql`${shot.label} = any(${sql.param([...new Set(choice.labels)])}::text[])`;
  if ('all' in choice) return undefined;
  const rigs = choice.rig === undefined ? undefined : ofRig(labId, choice.rig);
  if (!('sessions' in choice)) return rigs;
  return and(sql`${hotShot.sessionDate} = any(${sql.param(choice.sessions)}::date[])`, rigs);
}

/** Faults of labels that belong to no shot of the lab, at their place in the choice. */
function unknownLabels(labels: readonly string[], known: ReadonlySet<string>) {
  const expected = 'the label of a shot of the lab';
  return labels
    .flatMap((label, index) =>
      known.has(label) ? [] : [fault('structure-invalid', `/labels/${index}`, label, expected)],
    )
    .slice(0, 100);
}

/**
 * Ids of the shots chosen.
 *
 * @param lenient true leaves out labels that no shot has (any more), instead of refusing
 * @throws Refusal request-invalid, naming labels that belong to no shot of the lab
 */
export async function chooseShots(
  tx: Transaction,
  labId: number,
  choice: ShotChoice,
  { lenient = false }: { readonly lenient?: boolean } = {},
): Promise<string[]> {
  const rows = await tx
    .select({ id: shot.id, label: shot.label })
    .from(shot)
    .innerJoin(hotShot, eq(hotShot.shotId, shot.id))
    .where(and(eq(shot.labId, labId), isNull(shot.withdrawnAt), condition(labId, choice)));
  const faults =
    'labels' in choice && !lenient ? unknownLabels(choice.labels, new Set(rows.map(({ label }) => label))) : [];
  if (faults.length > 0) {
    throw new Refusal('request-invalid', 'Some labels belong to no shot of the lab; nothing was changed.', { faults });
  }
  return rows.map(({ id }) => id);
}
