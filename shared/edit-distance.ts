/**
 * Edit distance between two short texts (Levenshtein): the cost of the cheapest row of insertions, deletions and
 * substitutions, each costing 2, except that a change of case only costs 1. Returns an integer.
 */
export function editDistance(from: string, to: string): number {
  let previous = Array.from({ length: to.length + 1 }, (_, index) => 2 * index);
  for (let i = 1; i <= from.length; i++) {
    const current = [2 * i];
    for (let j = 1; j <= to.length; j++) {
      const substituted = (previous[j - 1] ?? 0) + substitutionCost(from.charAt(i - 1), to.charAt(j - 1));
      current.push(Math.min(substituted, (previous[j] ?? 0) + 2, (current[j - 1] ?? 0) + 2));
    }
    previous = current;
  }
  return previous[to.length] ?? 0;
}

function substitutionCost(from: string, to: string): number {
  if (from === to) return 0;
  return from.toLowerCase() === to.toLowerCase() ? 1 : 2;
}
