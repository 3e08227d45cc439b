import type { ComparisonSpecification } from '../../shared/comparison.ts';
import type { Fault } from '../../shared/problems.ts';
import { Refusal } from '../../shared/refusal.ts';
import { isUncertain } from './own-uncertainty.ts';

/**
 * Refuses questions that contradict themselves: what the two sides differ in cannot also be held equal.
 * @throws Refusal request-invalid with one fault for each contradiction
 */
export function checkComparison({ contrast, response, match, exact }: ComparisonSpecification): void {
  const faults: Fault[] = [];
  const fault = (pointer: string, found: string, expected: string, remedy: string): void => {
    faults.push({ code: 'request-invalid', pointer, row: null, column: null, found, expected, remedy });
  };
  const variable = contrast.kind === 'grouping' ? null : contrast.variable;

  match.forEach((matched, place) => {
    const pointer = `/match/${place}/variable`;
    if (matched.variable === variable) {
      const expected = 'a variable other than the contrast';
      fault(pointer, matched.variable, expected, 'The two sides differ in it by choice: take it out of match.');
    }
    if (matched.variable === response) {
      fault(pointer, response, 'a variable other than the response', 'Matching on the response leaves nothing to see.');
    }
    if (match.findIndex((other) => other.variable === matched.variable) < place) {
      fault(pointer, matched.variable, 'each variable once', 'Give one caliper for the variable.');
    }
    const { caliper } = matched;
    if (typeof caliper === 'object' && 'combinedUncertainties' in caliper && !isUncertain(matched.variable)) {
      const expected = 'a caliper in SI or in standard deviations';
      const remedy = 'The service keeps no uncertainty of this variable for each shot.';
      fault(`/match/${place}/caliper`, 'combinedUncertainties', expected, remedy);
    }
  });
  if (variable === response) {
    fault('/response', response, 'a variable other than the contrast', 'Choose what the contrast may have changed.');
  }
  if (contrast.kind === 'grouping') {
    const place = exact.indexOf(contrast.grouping);
    if (place >= 0) {
      const remedy = `The two sides differ in it by choice: take it out of exact.`;
      fault(`/exact/${place}`, contrast.grouping, 'a grouping other than the contrast', remedy);
    }
    if (contrast.first === contrast.second) {
      fault('/contrast/second', contrast.second, 'a value other than first', 'Name the other side.');
    }
  }
  if (contrast.kind === 'ranges') {
    const { first, second } = contrast;
    for (const [side, [low, high]] of [['first', first] as const, ['second', second] as const]) {
      if (low > high) fault(`/contrast/${side}`, `${low} to ${high}`, 'lower end first', 'Swap the two ends.');
    }
    if (Math.max(first[0], second[0]) < Math.min(first[1], second[1])) {
      const found = `${first.join(' to ')} and ${second.join(' to ')}`;
      fault('/contrast', found, 'ranges that do not overlap', 'A shot must not be on both sides: part the ranges.');
    }
  }
  if (faults.length > 0) {
    throw new Refusal('request-invalid', 'the comparison contradicts itself; see the errors', { faults });
  }
}
