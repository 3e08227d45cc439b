/**
 * The budget of a result that is a formula of other results. A result that enters the formula brings its own budget with
 * it: what two of them share (the scale of the rig in cue speed and tip offset) is one cause and one line, with the sum of
 * its signed sensitivities; the rest of each is a line for each thing that its errors are common to.
 */
import type { BudgetLine } from '../../shared/derivation.ts';
import { type BudgetEntry, budgetEntry } from './budget.ts';
import { rootSumSquares } from './estimate.ts';

/** What of a budget line is passed on. */
export type PassedLine = Pick<
  BudgetLine,
  'input' | 'value' | 'unit' | 'standardUncertainty' | 'sensitivity' | 'contribution' | 'kind' | 'commonTo'
>;

export interface ChainInput {
  readonly value: number;
  readonly unit: string;
  readonly standardUncertainty: number;
  readonly commonTo: BudgetLine['commonTo'];
  /** Its own budget, when it is a result itself; the uncertainty and `commonTo` above then do not count. */
  readonly lines?: readonly PassedLine[];
}

/** Of these and not of the shot alone are causes that two inputs may share. */
const groupOrder = ['shot', 'rig', 'cue', 'table'] as const;
const kinds = ['A', 'B'] as const;

/** Lines of one result that is a formula of the inputs; null of the formula where there is no result. */
export function chainBudget<Name extends string>(
  result: BudgetEntry['result'],
  inputs: Readonly<Record<Name, ChainInput>>,
  formula: (values: Readonly<Record<Name, number>>) => number | null,
): BudgetEntry[] {
  const vector = (values: Readonly<Record<Name, number>>) => {
    const value = formula(values);
    return value === null ? null : [value];
  };
  return chainLines(result, inputs, (name) => sensitivitiesTo(name, inputs, vector)?.[0] ?? null);
}

/**
 * @param inputs by name, in the order of the lines
 * @param sensitivityTo signed sensitivity of the result to an input; null of an exact one
 */
export function chainLines<Name extends string>(
  result: BudgetEntry['result'],
  inputs: Readonly<Record<Name, ChainInput>>,
  sensitivityTo: (name: Name) => number | null,
): BudgetEntry[] {
  const names = Object.keys(inputs) as Name[];
  const shared = sharedCauses(names.flatMap((name) => [inputs[name].lines ?? []]));
  const entries: BudgetEntry[] = [];
  const causes = new Map<string, BudgetEntry>();
  for (const name of names) {
    const input = inputs[name];
    const sensitivity = sensitivityTo(name);
    if (sensitivity === null) continue;
    if (input.lines === undefined) {
      const { value, unit, standardUncertainty } = input;
      entries.push(
        budgetEntry(result, { input: name, value, unit, standardUncertainty }, sensitivity, 'B', input.commonTo),
      );
      continue;
    }
    for (const line of input.lines) {
      const key = causeOf(line);
      if (!shared.has(key)) continue;
      const before = causes.get(key)?.sensitivity ?? 0;
      causes.set(key, budgetEntry(result, line, before + sensitivity * line.sensitivity, line.kind, line.commonTo));
    }
    const own = input.lines.filter((line) => !shared.has(causeOf(line)));
    for (const commonTo of groupOrder) {
      for (const kind of kinds) {
        const parts = own.filter((line) => line.commonTo === commonTo && line.kind === kind);
        const standardUncertainty = rootSumSquares(...parts.map(({ contribution }) => contribution));
        if (!(standardUncertainty > 0)) continue;
        const { value, unit } = input;
        entries.push(
          budgetEntry(result, { input: name, value, unit, standardUncertainty }, sensitivity, kind, commonTo),
        );
      }
    }
  }
  return [...entries, ...causes.values()];
}

/** Standard uncertainty of a result from its lines. */
export function combinedUncertainty(entries: readonly Pick<BudgetEntry, 'contribution'>[]): number {
  return rootSumSquares(...entries.map(({ contribution }) => contribution));
}

function causeOf({ commonTo, input }: PassedLine): string {
  return `${commonTo}/${input}`;
}

function sharedCauses(budgets: readonly (readonly PassedLine[])[]): ReadonlySet<string> {
  const seen = new Set<string>();
  const shared = new Set<string>();
  for (const lines of budgets) {
    const own = new Set(lines.filter(({ commonTo }) => commonTo !== 'shot').map(causeOf));
    for (const cause of own) (seen.has(cause) ? shared : seen).add(cause);
  }
  return shared;
}

/**
 * Signed change of each result with an input, from one standard uncertainty below to one above (GUM, JCGM 100:2008 5.1.3
 * note 2; from memory); where one side has no results, to the other side. Null of an exact input.
 *
 * @param formula results at given inputs; null where there are none
 */
export function sensitivitiesTo<Name extends string>(
  name: Name,
  inputs: Readonly<Record<Name, ChainInput>>,
  formula: (values: Readonly<Record<Name, number>>) => readonly number[] | null,
): readonly number[] | null {
  const { value, lines, standardUncertainty } = inputs[name];
  const step = lines === undefined ? standardUncertainty : combinedUncertainty(lines);
  if (!(step > 0)) return null;
  const middle = Object.fromEntries(
    (Object.keys(inputs) as Name[]).map((each) => [each, inputs[each].value]),
  ) as Record<Name, number>;
  const at = (shift: number) => formula({ ...middle, [name]: value + shift });
  const [below, above] = [at(-step), at(step)];
  const change = (from: readonly number[], to: readonly number[], width: number) =>
    to.map((each, index) => (each - (from[index] as number)) / width);
  if (above !== null && below !== null) return change(below, above, 2 * step);
  const centre = formula(middle);
  if (centre === null) return null;
  if (above !== null) return change(centre, above, step);
  return below === null ? centre.map(() => 0) : change(below, centre, step);
}
