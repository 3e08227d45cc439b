/** Checks that the pairs of an answer are optimal, from the answer alone: no columns, no matching code. */
import type { ComparisonResult } from '../../shared/comparison.ts';
import type { PairedShot } from '../../shared/comparison-pairs.ts';

/** @returns what is wrong; empty when the dual prices prove that no pairing has more pairs or less total distance */
export function certificateFaults(answer: ComparisonResult): string[] {
  const { pairs, unmatched, optimality, calipers } = answer;
  const { costScale, unmatchedCost } = optimality;
  const first = [...pairs.map((pair) => pair.first), ...unmatched.shots.filter(({ side }) => side === 'first')];
  const second = [...pairs.map((pair) => pair.second), ...unmatched.shots.filter(({ side }) => side === 'second')];
  const cost = (a: PairedShot, b: PairedShot): number | null => {
    if (a.group !== b.group) return null;
    let sum = 0;
    for (const [place, { caliper, combinedUncertainties: factor }] of calipers.entries()) {
      const [u, v] = [a.uncertainties?.[place] ?? 0, b.uncertainties?.[place] ?? 0];
      const reach = factor === null ? caliper : factor * Math.sqrt(u * u + v * v);
      const apart = Math.abs((a.match[place] as number) - (b.match[place] as number));
      if (!(apart <= reach * (1 + 1e-9))) return null;
      const share = apart === 0 ? 0 : apart / reach;
      sum += share * share;
    }
    return Math.round(Math.sqrt(sum) * costScale);
  };
  const faults: string[] = [];
  let candidates = 0;
  let largest = 0;
  for (const a of first) {
    if (a.price > unmatchedCost) faults.push(`${a.label}: price above the cost of an unmatched shot`);
    for (const b of second) {
      const between = cost(a, b);
      if (between === null) continue;
      candidates += 1;
      largest = Math.max(largest, between);
      if (a.price + b.price > between) faults.push(`${a.label} and ${b.label}: prices above the cost`);
    }
  }
  if (candidates !== optimality.candidates) faults.push(`${candidates} candidates`);
  if (!(unmatchedCost > largest * Math.min(first.length, second.length))) faults.push('one more pair may not pay');
  let total = 0;
  for (const pair of pairs) {
    const between = cost(pair.first, pair.second);
    if (between === null) faults.push(`${pair.first.label}: not within the calipers`);
    else if (pair.first.price + pair.second.price !== between) faults.push(`${pair.first.label}: not tight`);
    total += between ?? 0;
  }
  if (total !== optimality.totalCost) faults.push('another total');
  for (const shot of second) if (shot.price > 0) faults.push(`${shot.label}: price above zero`);
  for (const shot of unmatched.shots) {
    const price = shot.side === 'first' ? unmatchedCost : 0;
    if (shot.price !== price) faults.push(`${shot.label}: unmatched at another price`);
  }
  return faults;
}

/** All strings within a value, with their JSON pointers. */
export function textsOf(value: unknown, pointer = ''): [pointer: string, text: string][] {
  if (typeof value === 'string') return [[pointer, value]];
  if (typeof value !== 'object' || value === null) return [];
  return Object.entries(value).flatMap(([key, inner]) => textsOf(inner, `${pointer}/${key}`));
}
