/** Order statistics of the Walsh averages (d_i + d_j) / 2, i <= j, of n numbers, without forming all n (n + 1) / 2. */

/** Halvings of the range after which single values are walked. */
const halvings = 60;

export class WalshAverages {
  readonly #sorted: Float64Array;
  /** n (n + 1) / 2. */
  readonly count: number;

  /** @param values n >= 1 numbers in any order */
  constructor(values: Float64Array) {
    this.#sorted = Float64Array.from(values).sort();
    const n = values.length;
    this.count = (n * (n + 1)) / 2;
  }

  /** The k-th smallest, 1 <= k <= count: bisection on the value, each step one walk over the numbers. */
  at(k: number): number {
    const sorted = this.#sorted;
    let low = sorted[0] as number;
    if (this.#atMost(low) >= k) return low;
    let high = sorted[sorted.length - 1] as number;
    for (let step = 0; step < halvings; step += 1) {
      const middle = low + (high - low) / 2;
      if (middle <= low || middle >= high) break;
      if (this.#atMost(middle) >= k) high = middle;
      else low = middle;
    }
    for (;;) {
      low = this.#nextAbove(low);
      if (this.#atMost(low) >= k) return low;
    }
  }

  /** Median: the Hodges-Lehmann estimate. */
  median(): number {
    const half = this.count / 2;
    return (this.at(Math.floor(half + 0.5)) + this.at(Math.floor(half) + 1)) / 2;
  }

  /** How many are at most x. The averages grow with either index, so the bound of j only falls as i rises. */
  #atMost(x: number): number {
    const sorted = this.#sorted;
    let found = 0;
    let j = sorted.length - 1;
    for (let i = 0; i < sorted.length; i += 1) {
      while (j >= i && ((sorted[i] as number) + (sorted[j] as number)) / 2 > x) j -= 1;
      if (j < i) break;
      found += j - i + 1;
    }
    return found;
  }

  /** The smallest that is larger than x; infinity when there is none. */
  #nextAbove(x: number): number {
    const sorted = this.#sorted;
    const n = sorted.length;
    let least = Number.POSITIVE_INFINITY;
    let j = n - 1;
    for (let i = 0; i < n; i += 1) {
      while (j >= i && ((sorted[i] as number) + (sorted[j] as number)) / 2 > x) j -= 1;
      // The first j from i on whose average exceeds x.
      const next = Math.max(j + 1, i);
      if (next < n) least = Math.min(least, ((sorted[i] as number) + (sorted[next] as number)) / 2);
    }
    return least;
  }
}
