/** Recomputes every derivation of a bundle from what the labs sent, and compares it bit for bit with derived.csv. */
import type { DerivedShot } from '../../shared/derivation.ts';
import type { Derive } from '../derivation/methods.ts';
import { rowTexts } from './csv-table.ts';
import { derivedTable } from './derived-table.ts';
import { type DerivedFrozenShot, gearBook, shotOfFrozen, usedGear } from './frozen-shot.ts';
import { shotKey } from './tracks-table.ts';
import { CheckRecorder, type VerificationCheck } from './verification-report.ts';
import { type BundleTables, messageOf } from './verify-tables.ts';

/**
 * @returns the shots with their recomputed derivations (a shot that cannot be derived is left out) and the check.
 * Numbers are compared as shortest round-trip text, which is equal exactly when the doubles are.
 */
export function checkDerivations(
  tables: BundleTables,
  derive: Derive,
): { shots: DerivedFrozenShot[]; check: VerificationCheck } {
  const recorder = new CheckRecorder('derivations', 'shots');
  const book = gearBook(tables.gear);
  const shots: DerivedFrozenShot[] = [];
  for (const frozen of tables.shots) {
    recorder.count();
    const where = { file: derivedTable.file, lab: frozen.lab, label: frozen.content.label };
    let derived: DerivedShot;
    try {
      const answer = derive(shotOfFrozen(frozen), usedGear(book, frozen));
      const [fault] = answer.faults;
      if (fault !== undefined) throw new Error(`the shot would be refused: ${fault.code}, ${fault.found}`);
      derived = answer.derived;
    } catch (error) {
      recorder.differ({ ...where, column: null, expected: 'a shot that can be derived', found: messageOf(error) });
      continue;
    }
    const shot = { ...frozen, derived };
    shots.push(shot);
    const expected = rowTexts(derivedTable, shot);
    const found = tables.derivedRows.get(shotKey(frozen.lab, String(frozen.ordinal)));
    if (found === undefined) {
      recorder.differ({ ...where, column: null, expected: 'a row', found: 'no row' });
      continue;
    }
    for (const [index, { name }] of derivedTable.columns.entries()) {
      if (expected[index] === found[index]) continue;
      recorder.differ({ ...where, column: name, expected: expected[index] ?? '', found: found[index] ?? '' });
    }
  }
  const known = new Set(tables.shots.map(({ lab, ordinal }) => shotKey(lab, String(ordinal))));
  for (const [key, row] of tables.derivedRows) {
    if (known.has(key)) continue;
    const [lab = '', , label = ''] = row;
    recorder.differ({ file: derivedTable.file, lab, label, column: null, expected: 'no row', found: 'a row' });
  }
  return { shots, check: recorder.finish() };
}
