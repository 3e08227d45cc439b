/** Uncertainty budgets: lines made by the parts of a derivation, their correlation groups, and what they add up to. */
import type { BudgetLine, UncertaintyParts } from '../../shared/derivation.ts';
import type { UsedGear } from './gear.ts';

/** A line before its correlation group is named. */
export type BudgetEntry = Omit<BudgetLine, 'group'>;

/** Value and standard uncertainty of an input, in its unit (UCUM). */
export interface BudgetInput {
  readonly input: string;
  readonly value: number;
  readonly unit: string;
  readonly standardUncertainty: number;
}

/**
 * One line: contribution = |sensitivity| * standard uncertainty (GUM, JCGM 100:2008 5.1.3; from memory).
 *
 * @param sensitivity of the result to the input, SI unit of the result over the unit of the input
 */
export function budgetEntry(
  result: BudgetLine['result'],
  from: BudgetInput,
  sensitivity: number,
  kind: BudgetLine['kind'],
  commonTo: BudgetLine['commonTo'],
): BudgetEntry {
  const { input, value, unit, standardUncertainty } = from;
  const contribution = Math.abs(sensitivity) * standardUncertainty;
  return { result, input, value, unit, standardUncertainty, sensitivity, contribution, kind, commonTo };
}

/** A relative error of a scale or a clock: a factor of 1, to which the result has the given sensitivity. */
export function relativeEntry(
  result: BudgetLine['result'],
  input: string,
  relativeUncertainty: number,
  sensitivity: number,
  commonTo: BudgetLine['commonTo'],
): BudgetEntry {
  const factor = { input, value: 1, unit: '1', standardUncertainty: relativeUncertainty };
  return budgetEntry(result, factor, sensitivity, 'B', commonTo);
}

/**
 * Names the correlation group of each line after the gear version that carries the error. What belongs to a cue or a
 * table that the shot does not name is common to the rig: the lab used one there, whichever it was.
 */
export function nameGroups(entries: readonly BudgetEntry[], gear: UsedGear): BudgetLine[] {
  const nameOf = (carrier: { readonly name: string; readonly version: number }, kind: string) =>
    `${kind} ${carrier.name}@${carrier.version}`;
  const rig = nameOf(gear.rig, 'rig');
  const cue = gear.cue === null ? null : nameOf(gear.cue, 'cue');
  const table = gear.table === null ? null : nameOf(gear.table, 'table');
  return entries.map(
    ({ result, input, value, unit, standardUncertainty, sensitivity, contribution, kind, commonTo: carrier }) => {
      const own = carrier === 'cue' ? cue : carrier === 'table' ? table : carrier === 'rig' ? rig : null;
      const isLost = own === null && carrier !== 'shot';
      const commonTo = isLost ? 'rig' : carrier;
      const group = isLost ? rig : own;
      return { result, input, value, unit, standardUncertainty, sensitivity, contribution, kind, commonTo, group };
    },
  );
}

/** The uncertainty of one result by what it is common to: root sum of squares of its lines. */
export function uncertaintyParts(
  budget: readonly Pick<BudgetLine, 'result' | 'commonTo' | 'contribution'>[],
  result: BudgetLine['result'],
): UncertaintyParts {
  let shot = 0;
  let rig = 0;
  let cue = 0;
  let table = 0;
  for (const line of budget) {
    if (line.result !== result) continue;
    const square = line.contribution * line.contribution;
    if (line.commonTo === 'shot') shot += square;
    else if (line.commonTo === 'rig') rig += square;
    else if (line.commonTo === 'cue') cue += square;
    else table += square;
  }
  return { shot: Math.sqrt(shot), rig: Math.sqrt(rig), cue: Math.sqrt(cue), table: Math.sqrt(table) };
}
