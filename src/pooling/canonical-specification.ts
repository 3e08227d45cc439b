/** One way of writing each question: defaults are filled in by the schema, orders that carry no meaning are fixed here. */
import type { Filter } from '../../shared/analysis.ts';
import type { ComparisonSpecification } from '../../shared/comparison.ts';
import { type FlagName, flagNames } from '../../shared/flags.ts';
import { groupingNames, type VariableName, variableNames } from '../../shared/quantities.ts';
import { Refusal } from '../../shared/refusal.ts';
import type { RegressionSpecification } from '../../shared/regression.ts';
import { compareCodeUnits } from './compare-code-units.ts';

type Term = RegressionSpecification['terms'][number];
const highestPower = 5;

/**
 * The regression in its one form: factors of a term merged and in the order of the dictionary, terms by total degree
 * and then by their factors, doubled terms once, filter in its one form; choices that do not bear on the answer at their
 * one value; the curve that would be drawn anyway left out. A release holds only shared shots, so its scope is `shared`.
 * Throws request-invalid when merging gives a power above 5, or when the response is among the terms.
 */
export function canonicalRegression(specification: RegressionSpecification): RegressionSpecification {
  if (specification.terms.some((term) => term.some(({ variable }) => variable === specification.response))) {
    throw new Refusal('request-invalid', `${specification.response} cannot explain itself: take it out of the terms`);
  }
  const sorted = specification.terms.map(canonicalTerm).sort(compareTerms);
  const terms = sorted.filter((term, place) => place === 0 || compareTerms(term, sorted[place - 1] as Term) !== 0);
  const ownErrors = specification.labs !== 'fixed' && specification.labs !== 'ignored';
  const standardErrors = ownErrors ? 'classical' : specification.standardErrors;
  return {
    ...specification,
    terms,
    standardErrors,
    clusterBy: standardErrors === 'classical' ? 'lab' : specification.clusterBy,
    declaredRanges: canonicalRanges(specification.declaredRanges),
    influence: specification.influence && !ownErrors,
    curve: canonicalCurve(specification.curve, terms),
    filter: canonicalFilter(specification.filter),
    scope: specification.source === 'live' ? specification.scope : 'shared',
  };
}

/** One range a variable, the last one given counting, in the order of the dictionary. */
function canonicalRanges(ranges: RegressionSpecification['declaredRanges']): RegressionSpecification['declaredRanges'] {
  return variableNames.flatMap((variable) => {
    const range = ranges.findLast((each) => each.variable === variable);
    return range === undefined ? [] : [{ variable, min: range.min, max: range.max }];
  });
}

/** Held values in the order of the dictionary, the last one given counting; null for the curve that is the default. */
function canonicalCurve(
  curve: RegressionSpecification['curve'],
  terms: readonly Term[],
): RegressionSpecification['curve'] {
  if (curve === null) return null;
  const at = variableNames.flatMap((variable) => {
    const value = curve.at.findLast((held) => held.variable === variable)?.value;
    return value === undefined || variable === curve.variable ? [] : [{ variable, value }];
  });
  const usual = curve.points === 41 && at.length === 0 && curve.variable === terms[0]?.[0]?.variable;
  return usual ? null : { variable: curve.variable, points: curve.points, at };
}

/**
 * The matching variables of a comparison. The same set-up means the same table and the same object-ball distance. The
 * distance is measured, so it is held equal by a caliper and not by a name; it is added when it was left out, unless it
 * is what the question is about.
 */
function matchOf({ contrast, response, match, exact }: ComparisonSpecification): ComparisonSpecification['match'] {
  const distance = 'objectBallDistance';
  const isAskedAbout = response === distance || (contrast.kind !== 'grouping' && contrast.variable === distance);
  if (!exact.includes('setUp') || isAskedAbout || match.some(({ variable }) => variable === distance)) return match;
  return [...match, { variable: distance, caliper: 'proposed' }];
}

/** The comparison in its one form: matching variables and exact groupings in the order of the dictionary. */
export function canonicalComparison(specification: ComparisonSpecification): ComparisonSpecification {
  return {
    ...specification,
    match: [...matchOf(specification)].sort(
      (first, second) =>
        variableNames.indexOf(first.variable) - variableNames.indexOf(second.variable) ||
        compareCodeUnits(JSON.stringify(first.caliper), JSON.stringify(second.caliper)),
    ),
    exact: groupingNames.filter((name) => specification.exact.includes(name)),
    filter: canonicalFilter(specification.filter),
    scope: specification.source === 'live' ? specification.scope : 'shared',
  };
}

/** The filter in its one form: intervals of one variable intersected, everything in the order of the dictionary. */
export function canonicalFilter(filter: Filter): Filter {
  const ranges = variableNames.flatMap((variable) => {
    const given = filter.ranges.filter((range) => range.variable === variable);
    if (given.length === 0) return [];
    const mins = given.flatMap((range) => range.min ?? []);
    const maxs = given.flatMap((range) => range.max ?? []);
    return [
      {
        variable,
        ...(mins.length > 0 ? { min: Math.max(...mins) } : {}),
        ...(maxs.length > 0 ? { max: Math.min(...maxs) } : {}),
      },
    ];
  });
  const groups = filter.groups
    .map(({ grouping, values }) => ({ grouping, values: [...new Set(values)].sort(compareCodeUnits) }))
    .sort(
      (first, second) =>
        groupingNames.indexOf(first.grouping) - groupingNames.indexOf(second.grouping) ||
        compareCodeUnits(JSON.stringify(first.values), JSON.stringify(second.values)),
    );
  return {
    ranges,
    groups: groups.filter((group, place) => place === 0 || JSON.stringify(group) !== JSON.stringify(groups[place - 1])),
    includeReported: filter.includeReported,
    includeFlags: flagNames.filter((name: FlagName) => filter.includeFlags.includes(name)),
  };
}

/** How a term is written in results: cueSpeed, cueSpeed^2, cueSpeed*tipOffset. */
export function termName(term: Term): string {
  return term.map(({ variable, power }) => (power === 1 ? variable : `${variable}^${power}`)).join('*');
}

function canonicalTerm(term: Term): Term {
  const powers = new Map<VariableName, number>();
  for (const { variable, power } of term) powers.set(variable, (powers.get(variable) ?? 0) + power);
  return variableNames.flatMap((variable) => {
    const power = powers.get(variable);
    if (power === undefined) return [];
    if (power > highestPower) {
      throw new Refusal(
        'request-invalid',
        `a term takes ${variable} to the power ${power}; the highest power is ${highestPower}`,
      );
    }
    return [{ variable, power }];
  });
}

function degree(term: Term): number {
  return term.reduce((sum, { power }) => sum + power, 0);
}

/** Zero only for equal terms. */
function compareTerms(first: Term, second: Term): number {
  const byDegree = degree(first) - degree(second) || first.length - second.length;
  if (byDegree !== 0) return byDegree;
  for (let place = 0; place < first.length; place += 1) {
    const a = first[place] as Term[number];
    const b = second[place] as Term[number];
    const byFactor = variableNames.indexOf(a.variable) - variableNames.indexOf(b.variable) || b.power - a.power;
    if (byFactor !== 0) return byFactor;
  }
  return 0;
}
